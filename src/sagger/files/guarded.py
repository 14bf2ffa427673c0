"""Reading in a process of its own, with limits on processor time and memory.

`python -m sagger.files.guarded KIND FILE ANSWER` is that process. Part files come from outside: a reader may
hang, crash or ask for all memory there is, and the one who called it must be able to say so.
"""

from __future__ import annotations

import json
import logging
import math
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from sagger.errors import PartFileError
from sagger.files.reading import Read, Wish
from sagger.goods.drawing import Drawing
from sagger.goods.finding import Finding
from sagger.goods.good import plain
from sagger.goods.plain import restored
from sagger.goods.shape import Body, Shape

LOG = logging.getLogger("sagger.files")
LOG.addHandler(logging.NullHandler())  # the page's log has it; a person has a sentence
BYTES = 2 << 30
PATIENCE = 10.0  # seconds on the wall for each of processor time: the machine may have other work
REFUSED, OUT_OF_MEMORY = 3, 4  # exit codes
TIMED_OUT = (24, 152)  # SIGXCPU, as a signal and as a shell gives it on
PLAIN = Wish()
FARTHEST = 1e7  # coordinate, in the file's unit; beyond it the numbers are noise


def read(kind: str, path: Path, wish: Wish = PLAIN, memory: int = BYTES) -> Read:
    """What the reader of this kind makes of a file: its bodies, and the unit the file names ("" if none).

    Raises
    ------
    PartFileError
        If the file is refused, or the reader runs out of time or memory, or breaks.
    """
    with tempfile.TemporaryDirectory(prefix="sagger-") as folder:
        answer = Path(folder) / "answer.npz"
        ended = _run(kind, path, answer, wish, memory)
        if ended.returncode == 0 and answer.exists():
            return _unpacked(answer)
        if ended.returncode == REFUSED:
            raise PartFileError(**json.loads(answer.read_text("utf-8")))
    if ended.returncode == OUT_OF_MEMORY:
        wrong = f"reading it takes more than {memory / 2**30:.1f} GiB of memory"
        raise PartFileError(wrong, file=path.name, remedy="Export it coarser or simpler.")
    if -ended.returncode in TIMED_OUT:
        raise _too_long(path, wish)
    raise _broke_off(kind, path, ended)


def _broke_off(kind: str, path: Path, ended: subprocess.CompletedProcess[bytes]) -> PartFileError:
    """Whether file or reader is at fault cannot be told here; what the reader said goes to the log."""
    LOG.error("reading %s as %s: %s", path, kind, ended.stderr.decode("utf-8", "replace")[-4000:])
    crashed = ended.returncode < 0
    wrong = f"the reader of {kind} files {'crashed on it' if crashed else 'cannot go on with it'}"
    wrong += "; nothing else was harmed"
    other = (
        "Export it again, or in another format. If other programs read it, report it: this is a fault here."
    )
    return PartFileError(wrong, file=path.name, remedy=other)


def _too_long(path: Path, wish: Wish) -> PartFileError:
    wrong = f"reading it takes longer than {wish.seconds:g} s of processor time"
    remedy = f'Allow more, reading = "{4 * wish.seconds:.0f} s" in its [[part]] table or --reading'
    coarser = "take a coarser chord, or send STL or 3MF."
    return PartFileError(wrong, file=path.name, remedy=f"{remedy}; {coarser}")


def _run(kind: str, path: Path, answer: Path, wish: Wish, memory: int) -> subprocess.CompletedProcess[bytes]:
    words = [kind, str(path), str(answer), str(memory), repr(wish.seconds), repr(wish.chord_mm)]
    quiet = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")  # threads reserve memory
    try:
        return subprocess.run(
            [sys.executable, "-m", __name__, *words],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            timeout=PATIENCE * wish.seconds,
            env=os.environ | quiet,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise _too_long(path, wish) from None


def main(kind: str, file: str, answer: str, memory: str, seconds: str, chord_mm: str) -> int:
    """Read one file and write what it gave, or why it was refused; the exit code says which."""
    wish = Wish(chord_mm=float(chord_mm), seconds=float(seconds))
    _limit(int(memory), wish.seconds)
    path = Path(file)
    try:
        _pack(_sound(_read(kind, path, wish), path.name), Path(answer))
    except PartFileError as error:
        words = {"what": error.what, "file": error.file, "field": error.field, "remedy": error.remedy}
        value = error.value if isinstance(error.value, int | float) else str(error.value)
        Path(answer).write_text(json.dumps(words | {"value": value}), "utf-8")
        return REFUSED
    except MemoryError:
        return OUT_OF_MEMORY
    return 0


def _pack(result: Read, answer: Path) -> None:
    """Arrays by body, everything else as one JSON text."""
    arrays = dict[str, np.ndarray]()
    for number, body in enumerate(result.bodies):
        arrays[f"vertices{number}"], arrays[f"triangles{number}"] = body.shape.vertices, body.shape.triangles
        if body.face_of is not None:
            arrays[f"faces{number}"] = body.face_of
    words = {
        "names": [body.name for body in result.bodies],
        "copies": [body.copies for body in result.bodies],
        "unit": result.unit,
        "drawing": plain(result.drawing),
        "findings": plain(result.findings),
    }
    arrays["text"] = np.array(json.dumps(words))
    np.savez(answer, allow_pickle=False, **arrays)


def _unpacked(answer: Path) -> Read:
    with np.load(answer, allow_pickle=False) as arrays:
        words = json.loads(str(arrays["text"]))
        bodies = tuple(
            Body(
                shape=Shape(vertices=arrays[f"vertices{number}"], triangles=arrays[f"triangles{number}"]),
                name=name,
                copies=copies,
                face_of=arrays.get(f"faces{number}"),
            )
            for number, (name, copies) in enumerate(zip(words["names"], words["copies"], strict=True))
        )
    return Read(
        bodies=bodies,
        unit=words["unit"],
        drawing=None if words["drawing"] is None else restored(Drawing, words["drawing"]),
        findings=tuple(restored(Finding, noticed) for noticed in words["findings"]),
    )


def _limit(memory: int, seconds: float) -> None:
    try:
        import resource
    except ImportError:  # not a POSIX system: only time on the wall is limited
        return
    whole = max(1, math.ceil(seconds))
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CPU, (whole, whole + 5))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _read(kind: str, path: Path, wish: Wish) -> Read:
    if kind == "STEP":
        from sagger.files import step

        return step.read(path, wish)
    if kind == "STL":
        from sagger.files import stl

        shape, unit = stl.read(path)
    elif kind == "3MF":
        from sagger.files import threemf

        shape, unit = threemf.read(path)
    elif kind == "OBJ":
        from sagger.files import obj

        shape, unit = obj.read(path)
    else:
        from sagger.files import ply

        shape, unit = ply.read(path)
    return Read(bodies=(Body(shape=shape),), unit=unit)


def _sound(result: Read, name: str) -> Read:
    """What was read again, once its numbers are fit to work with."""
    for body in result.bodies:
        _sound_shape(body.shape, name)
    return result


def _sound_shape(shape: Shape, name: str) -> None:
    if not len(shape.triangles):
        raise PartFileError("there are no triangles in it", file=name, remedy="Export the part again.")
    bad = int((~np.isfinite(shape.vertices)).any(axis=1).sum())
    if bad:
        wrong = f"{bad} of {len(shape.vertices)} vertices are not finite numbers"
        raise PartFileError(wrong, file=name, remedy="Export the part again.")
    far = float(np.abs(shape.vertices).max())
    if far > FARTHEST:
        wrong = f"a vertex lies {far:.3g} from the origin, at most {FARTHEST:g} is taken"
        raise PartFileError(wrong, file=name, remedy="Move the part near the origin, or export it again.")
    if shape.triangles.min() < 0 or shape.triangles.max() >= len(shape.vertices):
        raise PartFileError(
            "a triangle names a vertex that is not there", file=name, remedy="Export it again."
        )
    if not np.ptp(shape.vertices, axis=0).all():
        raise PartFileError("the part is flat: it has no thickness", file=name, remedy="Export the solid.")


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
