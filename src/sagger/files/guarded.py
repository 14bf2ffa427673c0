"""Reading in a process of its own, with limits on time and memory.

`python -m sagger.files.guarded KIND FILE ANSWER` is that process. Part files come from outside: a reader may
hang, crash or ask for all memory there is, and the one who called it must be able to say so.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from sagger.errors import PartFileError
from sagger.goods.shape import Shape

SECONDS = 60
BYTES = 2 << 30
REFUSED, OUT_OF_MEMORY = 3, 4  # exit codes
FARTHEST = 1e7  # coordinate, in the file's unit; beyond it the numbers are noise


def read(kind: str, path: Path, seconds: float = SECONDS, memory: int = BYTES) -> tuple[Shape, str]:
    """What the reader of this kind makes of a file: its shape, and the unit the file names ("" if none).

    Raises
    ------
    PartFileError
        If the file is refused, or the reader runs out of time or memory, or breaks.
    """
    with tempfile.TemporaryDirectory(prefix="sagger-") as folder:
        answer = Path(folder) / "answer.npz"
        ended = _run(kind, path, answer, seconds, memory)
        if ended.returncode == 0 and answer.exists():
            with np.load(answer, allow_pickle=False) as arrays:
                shape = Shape(vertices=arrays["vertices"], triangles=arrays["triangles"])
                return shape, str(arrays["unit"])
        if ended.returncode == REFUSED:
            raise PartFileError(**json.loads(answer.read_text("utf-8")))
    if ended.returncode == OUT_OF_MEMORY:
        what = f"reading it takes more than {memory / 2**30:.1f} GiB of memory"
        raise PartFileError(what, file=path.name, remedy="Export it coarser or simpler.")
    last = ended.stderr.decode("utf-8", "replace").strip().splitlines()[-1:]
    why = last[0][:200] if last and ended.returncode > 0 else f"ended by signal {-ended.returncode}"
    what = f"its {kind} reader broke off ({why})"
    raise PartFileError(what, file=path.name, remedy="The file is damaged; export it again.")


def _run(
    kind: str, path: Path, answer: Path, seconds: float, memory: int
) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", __name__, kind, str(path), str(answer), str(memory)]
    quiet = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")  # threads reserve memory
    try:
        return subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            timeout=seconds,
            env=os.environ | quiet,
            check=False,
        )
    except subprocess.TimeoutExpired:
        what = f"reading it takes longer than {seconds:g} s"
        raise PartFileError(what, file=path.name, remedy="Export it simpler, or as STL or 3MF.") from None


def main(kind: str, file: str, answer: str, memory: str) -> int:
    """Read one file and write what it gave, or why it was refused; the exit code says which."""
    _limit(int(memory))
    path = Path(file)
    try:
        shape, unit = _sound(*_read(kind, path), path.name)
        np.savez(answer, vertices=shape.vertices, triangles=shape.triangles, unit=np.array(unit))
    except PartFileError as error:
        said = {"what": error.what, "file": error.file, "field": error.field, "remedy": error.remedy}
        value = error.value if isinstance(error.value, int | float) else str(error.value)
        Path(answer).write_text(json.dumps(said | {"value": value}), "utf-8")
        return REFUSED
    except MemoryError:
        return OUT_OF_MEMORY
    return 0


def _limit(memory: int) -> None:
    try:
        import resource
    except ImportError:  # not a POSIX system: only time is limited
        return
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))  # holds if the caller is gone
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _read(kind: str, path: Path) -> tuple[Shape, str]:
    if kind == "STL":
        from sagger.files import stl

        return stl.read(path)
    if kind == "3MF":
        from sagger.files import threemf

        return threemf.read(path)
    if kind == "STEP":
        from sagger.files import step

        return step.read(path)
    from sagger.files import obj_ply

    return obj_ply.read(path, kind)


def _sound(shape: Shape, unit: str, name: str) -> tuple[Shape, str]:
    """The shape again, once its numbers are fit to work with."""
    if not len(shape.triangles):
        raise PartFileError("there are no triangles in it", file=name, remedy="Export the part again.")
    bad = int((~np.isfinite(shape.vertices)).any(axis=1).sum())
    if bad:
        what = f"{bad} of {len(shape.vertices)} vertices are not finite numbers"
        raise PartFileError(what, file=name, remedy="Export the part again.")
    far = float(np.abs(shape.vertices).max())
    if far > FARTHEST:
        what = f"a vertex lies {far:.3g} from the origin, at most {FARTHEST:g} is taken"
        raise PartFileError(what, file=name, remedy="Move the part near the origin, or export it again.")
    if shape.triangles.min() < 0 or shape.triangles.max() >= len(shape.vertices):
        raise PartFileError(
            "a triangle names a vertex that is not there", file=name, remedy="Export it again."
        )
    if not np.ptp(shape.vertices, axis=0).all():
        raise PartFileError("the part is flat: it has no thickness", file=name, remedy="Export the solid.")
    return shape, unit


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
