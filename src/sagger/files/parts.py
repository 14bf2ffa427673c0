"""A customer's part file, whatever its format, as triangles in mm."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import numpy as np

from sagger import units
from sagger.errors import PartFileError
from sagger.files import guarded
from sagger.geometry import mesh
from sagger.goods.shape import PartFile

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


def read_part(path: Path, unit: str = "", *, assume: str = "") -> PartFile:
    """Triangles of a part file in mm, with the file's digest, its format, and where the unit came from.

    Parameters
    ----------
    path : Path
        STL, 3MF, STEP, OBJ or PLY. What the file holds decides, then how its name ends.
    unit : str
        What the order says: "mm", "um", "cm", "m" or "in". 3MF and STEP name their own, which counts.
    assume : str
        Taken if neither file nor order says; the part is then marked as assumed.

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
    shape, named = guarded.read(kind, path)
    origin = "file" if named else "order" if unit else "assumed"
    word = named or unit or assume
    if not named:
        shape = mesh.mapped(shape, np.eye(3) * units.unit(word).factor / units.unit("mm").factor)
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return PartFile(name=path.name, digest=digest, format=kind, unit=word, unit_from=origin, shape=shape)


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
