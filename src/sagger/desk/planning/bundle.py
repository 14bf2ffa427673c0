"""What a person takes away from a job: traveller, nested bed, plan, drop images."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

from sagger.desk.home import box_folder
from sagger.desk.planning import history
from sagger.errors import InputError

NAMES = ("traveller.pdf", "traveller.html", "bed.3mf", "plan.json", "layers.zip")
LAYERS = "layers.zip"
_CHUNK = 1 << 18
_DAWN = (1980, 1, 1, 0, 0, 0)  # of every entry, so that equal layers give equal bytes


def file(job: int, box: int, name: str) -> tuple[Path, str]:
    """Where a file of a job lies (of the layers: their folder), and what to call it elsewhere.

    Raises
    ------
    InputError
        If there is no such file.
    """
    row = history.facts(job)
    into = Path(row.folder)
    inside = into if name == "plan.json" else box_folder(into, box)
    path = inside / ("layers" if name == LAYERS else name)
    if name not in NAMES or row.state not in ("done", "stopped") or not path.exists():
        raise InputError("there is no such file", field="name", value=name, remedy="Plan the job first.")
    order = re.sub(r"[^\w-]+", "-", row.name).strip("-") or "order"
    return path, f"{order}-job{job}{f'-box{box}' if box > 1 else ''}-{name}"


def zipped(folder: Path) -> Iterator[bytes]:
    """A zip of all files below a folder, in pieces as they are read; nothing is kept on disk or in memory."""
    pipe = _Pipe()
    with zipfile.ZipFile(pipe, mode="w") as out:
        for path in sorted(each for each in folder.rglob("*") if each.is_file()):
            entry = zipfile.ZipInfo(str(path.relative_to(folder)), _DAWN)
            with path.open("rb") as source, out.open(entry, "w", force_zip64=True) as inside:
                while chunk := source.read(_CHUNK):
                    inside.write(chunk)
                    yield pipe.taken()
    yield pipe.taken()


class _Pipe:
    """A file that can only be written on; what was written is taken away in between."""

    def __init__(self) -> None:
        self._held = bytearray()

    def write(self, content: bytes) -> int:
        self._held += content
        return len(content)

    def flush(self) -> None:
        """Nothing to flush: what is held is taken."""

    def close(self) -> None:
        """Nothing to close."""

    def taken(self) -> bytes:
        content = bytes(self._held)
        self._held.clear()
        return content
