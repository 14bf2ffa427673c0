"""Drops of a cut: placed meshes to rows of spans, without polygons and without a bitmap [mm]."""

from sagger.geometry.raster.drawing import DrawnPlane, Scratch, draw
from sagger.geometry.raster.runs import Runs, bitmap, blank, count, fingerprint, from_image, image, runs
from sagger.geometry.raster.scene import Scene, scene

__all__ = [
    "DrawnPlane",
    "Runs",
    "Scene",
    "Scratch",
    "bitmap",
    "blank",
    "count",
    "draw",
    "fingerprint",
    "from_image",
    "image",
    "runs",
    "scene",
]
