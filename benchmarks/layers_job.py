"""Every layer of the full bed, drawn, encoded and written in a process of its own; what it took.

Run by `layers.py`, which saves the parts; by itself: `python layers_job.py FOLDER`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
from layers_bed import stack

from sagger.files import tiff
from sagger.goods.shape import Shape
from sagger.stations import layers


def whole_job(shapes, copies, folder):
    """CPU seconds from the parts to the last file, seconds until the first, and peak memory, in GB."""
    for n, one in enumerate(shapes):
        np.save(folder / f"vertices-{n}.npy", one.vertices)
        np.save(folder / f"triangles-{n}.npy", one.triangles)
    kinds, placements = zip(*copies, strict=True)
    np.save(folder / "kinds.npy", kinds)
    np.save(folder / "placements.npy", placements)
    done = subprocess.run([sys.executable, __file__, str(folder)], check=True, capture_output=True, text=True)
    return json.loads(done.stdout)


def saved(folder):
    def read(name):
        array = np.load(folder / f"{name}.npy")
        array.flags.writeable = False  # or goods would copy it
        return array

    count = len(list(folder.glob("vertices-*.npy")))
    shapes = [Shape(vertices=read(f"vertices-{n}"), triangles=read(f"triangles-{n}")) for n in range(count)]
    return shapes, list(zip(read("kinds").tolist(), read("placements"), strict=True))


def peak_kb():
    """Most memory this process held; `getrusage` would tell that of the process it was started from."""
    status = Path("/proc/self/status").read_text()
    return int(next(line for line in status.splitlines() if line.startswith("VmHWM")).split()[1])


def main(folder):
    recipe = stack(*saved(folder))
    began, first, size = time.process_time(), 0.0, 0

    def write(_k, sheet):
        data = tiff.encode_sheet(sheet, tiff.LayerForm(recipe.pitch_mm))
        (folder / "layer.tif").write_bytes(data)
        return len(data)

    for k, _, written in layers.drawn(recipe, write, threads=1):
        first = first if k else time.process_time() - began
        size += written
    result = {
        "whole_job_cpu_s": round(time.process_time() - began, 1),
        "first_layer_s": round(first, 2),
        "layers": recipe.count,
        "gb_written": round(size / 2**30, 2),
        "peak_gb": round(peak_kb() / 2**20, 3),
    }
    print(json.dumps(result))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
