"""A closed surface as triangles, before it is anything in powder."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good


@good
class Shape:
    vertices: ndarray  # float64 (n, 3) [mm]
    triangles: ndarray  # int32 (m, 3), counter-clockwise seen from outside


@good
class PartFile:
    """What a reader hands over: triangles in mm, and where they came from."""

    name: str  # file name without folder
    digest: str  # of the file's bytes
    format: str  # "STL", "3MF", "STEP", "OBJ", "PLY"
    unit: str  # unit the file was read in: "mm", "in", …
    unit_from: str  # "file", "order", or "assumed"
    shape: Shape
