"""Every layer of the full bed, drawn, encoded and written in a process of its own; what it took.

Run by `layers.py`, which saves the parts; by itself: `python layers_job.py FOLDER`.
"""

from __future__ import annotations

import json
import resource
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
        np.savez(folder / f"part-{n}.npz", vertices=one.vertices, triangles=one.triangles)
    kinds, placements = zip(*copies, strict=True)
    np.savez(folder / "copies.npz", kinds=kinds, placements=placements)
    done = subprocess.run([sys.executable, __file__, str(folder)], check=True, capture_output=True, text=True)
    return json.loads(done.stdout)


def saved(folder):
    shapes = []
    for n in range(len(list(folder.glob("part-*.npz")))):
        with np.load(folder / f"part-{n}.npz") as part:
            shapes.append(Shape(vertices=part["vertices"], triangles=part["triangles"]))
    with np.load(folder / "copies.npz") as copies:
        return shapes, list(zip(copies["kinds"].tolist(), copies["placements"], strict=True))


def main(folder):
    recipe = stack(*saved(folder))
    began, first, size = time.process_time(), 0.0, 0

    def write(_k, sheet):
        data = tiff.encode_sheet(sheet, pitch_mm=recipe.pitch_mm)
        (folder / "layer.tif").write_bytes(data)
        return len(data)

    for k, _, written in layers.each(recipe, write, threads=1):
        first = first if k else time.process_time() - began
        size += written
    result = {
        "whole_job_cpu_s": round(time.process_time() - began, 1),
        "first_layer_s": round(first, 2),
        "layers": recipe.count,
        "gb_written": round(size / 2**30, 2),
        "peak_gb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20, 2),
    }
    print(json.dumps(result))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
