"""A customer's part file, whatever its format, as triangles in mm."""

from __future__ import annotations

import difflib
import hashlib
import re
from pathlib import Path

import numpy as np

from sagger import units
from sagger.errors import PartFileError
from sagger.files import guarded
from sagger.files.reading import Wish
from sagger.geometry.surface import mesh
from sagger.goods.drawing import Drawing
from sagger.goods.shape import Body, PartFile, Shape

ENDINGS = {
    ".stl": "STL",
    ".3mf": "3MF",
    ".step": "STEP",
    ".stp": "STEP",
    ".p21": "STEP",
    ".obj": "OBJ",
    ".ply": "PLY",
}
UNITLESS = ("STL", "OBJ", "PLY")
LENGTHS = ("mm", "um", "cm", "m", "in")
MOST_BYTES = 1 << 30
PLAIN = Wish()


def read_part(path: Path, unit: str = "", *, assume: str = "", wish: Wish = PLAIN) -> PartFile:
    """Triangles of the one part that a file holds, in mm; as `read_parts`.

    Raises
    ------
    PartFileError
        If the file is missing, empty, damaged, hostile, of unknown kind, without a unit, or an assembly.
    """
    parts = read_parts(path, unit, assume=assume, wish=wish)
    if len(parts) > 1:
        what = f"the file holds {len(parts)} bodies: {offered(parts)}"
        raise PartFileError(what, file=path.name, remedy="Give one body in a file of its own.")
    return parts[0]


def read_parts(path: Path, unit: str = "", *, assume: str = "", wish: Wish = PLAIN) -> tuple[PartFile, ...]:
    """Triangles of each body of a part file in mm, with the file's digest, its format, and its unit's origin.

    Parameters
    ----------
    path : Path
        STL, 3MF, STEP, OBJ or PLY. What the file holds decides, then how its name ends.
    unit : str
        What the order says: "mm", "um", "cm", "m" or "in". 3MF and STEP name their own, which counts.
    assume : str
        Taken if neither file nor order says; the part is then marked as assumed.
    wish : Wish
        Chord of a STEP file's facets, and the processor time that reading may take.

    Raises
    ------
    PartFileError
        If the file is missing, empty, damaged, hostile, of unknown kind or without a unit.
    """
    _present(path)
    for word in (unit, assume):
        if word and word not in LENGTHS:
            raise PartFileError(
                "no such unit", file=path.name, value=word, remedy=f"Known: {', '.join(LENGTHS)}."
            )
    kind = format_of(path)
    if kind in UNITLESS and not (unit or assume):
        what = f"{kind} files carry no unit and the order names none"
        raise PartFileError(what, file=path.name, remedy='Say which, e.g. unit = "mm" or unit = "in".')
    outcome = guarded.read(kind, path, wish)
    word = outcome.unit or unit or assume
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return tuple(
        PartFile(
            name=path.name,
            digest=digest,
            format=kind,
            unit=word,
            unit_from="file" if outcome.unit else "order" if unit else "assumed",
            shape=body.shape if outcome.unit else _in_mm(body.shape, word),
            body=body.name,
            copies=body.copies,
            face_of=body.face_of,
            drawing=_own(outcome.drawing, body, len(outcome.bodies)),
            findings=outcome.findings,
        )
        for body in outcome.bodies
    )


def chosen(parts: tuple[PartFile, ...], body: str) -> PartFile:
    """The body of this name.

    Raises
    ------
    PartFileError
        If the file holds none of this name; the nearest are named.
    """
    named = [part for part in parts if part.body == body]
    if named:
        return named[0]
    close = difflib.get_close_matches(body, [part.body for part in parts], n=3, cutoff=0.3)
    remedy = f"The nearest: {', '.join(close)}." if close else f"It holds {offered(parts)}."
    if len(parts) == 1:
        remedy = "It holds one body only; leave the key out."
    raise PartFileError("it holds no such body", file=parts[0].name, field="body", value=body, remedy=remedy)


def offered(parts: tuple[PartFile, ...]) -> str:
    """The bodies of a file by name, with the number of copies that an assembly places."""
    most = 20
    names = [part.body + (f" ({part.copies} times)" if part.copies > 1 else "") for part in parts[:most]]
    return ", ".join(names) + (f" and {len(parts) - most} more" if len(parts) > most else "")


def _in_mm(shape: Shape, word: str) -> Shape:
    return mesh.mapped(shape, np.eye(3) * units.unit(word).factor / units.unit("mm").factor)


def _own(drawing: Drawing | None, body: Body, count: int) -> Drawing | None:
    """What of the file's drawing is about this body."""
    if drawing is None or count == 1 or body.face_of is None:
        return drawing if count == 1 else None
    own = frozenset(int(number) for number in np.unique(body.face_of))
    return Drawing(
        faces=tuple(face for face in drawing.faces if face.number in own),
        dimensions=tuple(size for size in drawing.dimensions if own.issuperset(size.faces)),
        tolerances=tuple(asked for asked in drawing.tolerances if own.issuperset(asked.faces)),
        datums=tuple(datum for datum in drawing.datums if own.issuperset(datum.faces)),
        lost=drawing.lost,
    )


def _present(path: Path) -> None:
    if not path.is_file():
        raise PartFileError("there is no such file", file=str(path), remedy="Check the name and the folder.")
    size = path.stat().st_size
    if not size:
        raise PartFileError("the file is empty", file=path.name, remedy="Export the part again.")
    if size > MOST_BYTES:
        what = f"the file has {size / 2**20:.0f} MiB, at most {MOST_BYTES / 2**20:.0f} MiB are taken"
        raise PartFileError(what, file=path.name, remedy="Export it coarser.")


def format_of(path: Path) -> str:
    """ "STL", "3MF", "STEP", "OBJ" or "PLY": by what the file holds, else by how its name ends.

    Raises
    ------
    PartFileError
        If it is none of these.
    """
    with path.open("rb") as file:
        start = file.read(4096)
    text = start.lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith(b"PK\x03\x04"):
        return "3MF"
    if text.startswith(b"ISO-10303-21"):
        return "STEP"
    if re.match(rb"ply\s+(format|comment|obj_info)\s", text):
        return "PLY"
    if _looks_like_stl(path, start):
        return "STL"
    if re.search(rb"(?m)^v\s+[-+.\d]+\S*\s+[-+.\d]+\S*\s+[-+.\d]", start) and b"\0" not in start:
        return "OBJ"
    kind = ENDINGS.get(path.suffix.lower())
    if kind is None:
        remedy = f"Give one of {', '.join(sorted(set(ENDINGS.values())))}."
        raise PartFileError("this is no part file that can be read", file=path.name, remedy=remedy)
    return kind


def _looks_like_stl(path: Path, start: bytes) -> bool:
    if len(start) >= 84 and path.stat().st_size == 84 + 50 * int.from_bytes(start[80:84], "little"):
        return True
    return start.lstrip()[:5].lower() == b"solid" and b"facet" in start.lower()
