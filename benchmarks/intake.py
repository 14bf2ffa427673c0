"""Processor time to read and check each real part file beside the project, next to a general mesh library.

The library reads the same file and answers what it can: whether it is closed, its volume, its bodies. What it
leaves out (walls at every face, hollows, overlaps, orientations, what the cards ask for) is why the ratio is
far from one. Reading happens in a process of its own, whose time counts. Ends with one JSON object: for each
file `seconds`, `library_s` and their `ratio`.

    python benchmarks/intake.py [folder of part files]
"""

import json
import os
import runpy
import sys
import time
from pathlib import Path

import trimesh

from sagger.errors import SaggerError
from sagger.files import read_parts
from sagger.goods.order import Choices
from sagger.stations import intake

PARTS = Path(__file__).parents[2] / "shared" / "parts"
SHAPES = runpy.run_path(str(Path(__file__).parents[1] / "tests" / "part_shapes.py"))


def spent():
    """Processor time of this process and those that it waited for [s]."""
    return sum(os.times()[:4])


def ours(path, cell):
    start = spent()
    for part in read_parts(path, assume="mm"):
        intake.check(SHAPES["request"](), part, cell, Choices())
    return spent() - start


def library(path):
    """Seconds, or None for a kind of file that the library cannot read as it is installed here."""
    start = time.process_time()
    try:
        shape = trimesh.load(path, force="mesh")
    except ImportError:
        return None
    answers = shape.is_watertight, shape.volume, shape.body_count
    assert len(answers) == 3
    return time.process_time() - start


def main():
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else PARTS
    cell = SHAPES["cell"]()
    found = {}
    for path in sorted(folder.iterdir()):
        try:
            ours(path, cell)  # compiled, and the file in memory
            seconds = ours(path, cell)
        except SaggerError as error:
            print(f"{path.name}: {error}")
            continue
        beside = library(path)
        ratio = seconds / beside if beside else None
        told = "reads no such file" if beside is None else f"{beside:.2f} s"
        print(f"{path.name}: {seconds:.2f} s, library {told}")
        found[path.name] = {"seconds": seconds, "library_s": beside, "ratio": ratio}
    print(json.dumps(found))


if __name__ == "__main__":
    main()
