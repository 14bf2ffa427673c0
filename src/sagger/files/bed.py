"""The nested box as one 3MF file: nominal parts once, oversize and place in the item transforms."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable
from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy import ndarray

from sagger.errors import PartFileError
from sagger.files import threemf
from sagger.files.threemf import CORE, START_PART
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Piece
from sagger.goods.shape import Shape

OWN = "urn:sagger:bed:1"  # namespace of the metadata that the core specification has no name for
STATE = "nominal parts; each item's transform holds turn, oversize factors and place, in mm"
_UNSAYABLE = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, section 2.2
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>"
)
_LINKS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="{START_PART}"/></Relationships>'
)


def write(path: Path, layout: Layout) -> None:
    """Write a box as 3MF (core specification 1.4.0); equal layouts give equal bytes.

    Parameters
    ----------
    path : Path
        Written aside and renamed, so that a file of this name is always whole.
    layout : Layout
        A piece's placement maps column vectors; 3MF's transform maps row vectors, translation last.

    Notes
    -----
    Coordinates carry 9 digits, transforms 12. Factors are told per object as metadata under a prefix,
    because the core specification reserves plain names.
    """
    content = {
        "[Content_Types].xml": _TYPES,
        "_rels/.rels": _LINKS,
        "3D/3dmodel.model": "".join(_model(layout)),
    }
    aside = path.with_name(path.name + ".part")
    with zipfile.ZipFile(aside, "w") as package:
        for name, text in content.items():
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type, entry.create_system = zipfile.ZIP_DEFLATED, 3
            package.writestr(entry, text.encode(), compresslevel=6)
    aside.replace(path)


def read(path: Path) -> tuple[dict[int, Shape], list[tuple[int, ndarray]]]:
    """What `write` wrote: nominal shapes by part, and part and placement (4, 4) of each piece in order.

    Raises
    ------
    PartFileError
        If the file is missing, damaged, or places what it does not hold.
    """
    shapes, items = threemf.objects(path)
    strange = [number for number, _ in items if number not in shapes]
    if strange:
        raise PartFileError("it places an object without a mesh", file=path.name, value=strange[0])
    placed = []
    for number, rows in items:
        placement = np.eye(4)
        placement[:3, :3], placement[:3, 3] = rows[:3].T, rows[3]
        placed.append((int(number) - 1, placement))
    return {int(number) - 1: shape for number, shape in shapes.items()}, placed


def _model(layout: Layout) -> Iterable[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>\n'
    yield f'<model unit="millimeter" xml:lang="en-US" xmlns="{CORE}" xmlns:bed="{OWN}">\n'
    yield _said("Title", f"box {layout.number}, {len(layout.pieces)} pieces")
    yield _said("Application", "Sagger")
    yield _said("bed:state", STATE)
    yield _said("bed:box", layout.box.name)
    yield _said("bed:height", f"{layout.height_mm:.6g} mm")
    yield "<resources>\n"
    used = sorted({piece.part for piece in layout.pieces})
    for part in used:
        yield from _object(part + 1, layout.greens[part])
    yield "</resources>\n<build>\n"
    for piece in layout.pieces:
        yield _item(piece, layout.greens[piece.part])
    yield "</build>\n</model>\n"


def _said(name: str, value: str) -> str:
    escaped = _plain(value).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return f"<metadata name={quoteattr(name)}>{escaped}</metadata>\n"


def _plain(text: str) -> str:
    """Text without characters that XML cannot hold."""
    return _UNSAYABLE.sub("?", text)


def _object(number: int, green: Green) -> Iterable[str]:
    name = quoteattr(_plain(green.part.request.name))
    yield f'<object id="{number}" type="model" name={name}>\n<metadatagroup>\n'
    yield _said("bed:file", green.part.request.file)
    yield _said("bed:file_digest", green.part.digest)
    yield _said("bed:factors", " ".join(f"{k:.9g}" for k in green.factors.k))
    yield _said("bed:factors_standard_uncertainty", " ".join(f"{u:.3g}" for u in green.factors.u))
    yield _said("bed:factors_origin", green.factors.origin)
    yield _said("bed:material", green.factors.material)
    yield "</metadatagroup>\n<mesh>\n<vertices>\n"
    vertex = '<vertex x="%.9g" y="%.9g" z="%.9g"/>\n'
    yield "".join(vertex % (x, y, z) for x, y, z in (green.shape.vertices + 0.0).tolist())
    yield "</vertices>\n<triangles>\n"
    triangle = '<triangle v1="%d" v2="%d" v3="%d"/>\n'
    yield "".join(triangle % (a, b, c) for a, b, c in green.shape.triangles.tolist())
    yield "</triangles>\n</mesh>\n</object>\n"


def _item(piece: Piece, green: Green) -> str:
    name = quoteattr(_plain(f"{green.part.request.name} {piece.number}"))
    return f'<item objectid="{piece.part + 1}" partnumber={name} transform="{transform(piece.placement)}"/>\n'


def transform(placement: ndarray) -> str:
    """A placement (4, 4) for column vectors as the twelve numbers of 3MF, for row vectors.

    Source
    ------
    3MF Core Specification 1.4.0, 3.3: row-major, m00 m01 m02 m10 … m32.
    """
    return " ".join(f"{number:.12g}" for number in (placement[:3].T + 0.0).ravel())
