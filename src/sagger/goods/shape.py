"""A closed surface as triangles, before it is anything in powder."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.drawing import Drawing
from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Shape:
    vertices: ndarray  # float64 (n, 3) [mm]
    triangles: ndarray  # int32 (m, 3), counter-clockwise seen from outside


@good
class Body:
    """One body of a part file, in its own axes."""

    shape: Shape
    name: str = ""  # as the file calls it; "" in files that hold no more than one
    copies: int = 1  # how often an assembly places it
    face_of: ndarray | None = None  # int32 (m,): number of the exact face that each triangle lies on


@good
class PartFile:
    """What a reader hands over: triangles in mm, and where they came from."""

    name: str  # file name without folder
    digest: str  # of the file's bytes
    format: str  # "STL", "3MF", "STEP", "OBJ", "PLY"
    unit: str  # unit the file was read in: "mm", "in", …
    unit_from: str  # "file", "order", or "assumed"
    shape: Shape
    body: str = ""  # name of the body in the file; "" if the file holds but one
    copies: int = 1  # how often an assembly places it
    face_of: ndarray | None = None  # int32 (m,): number of the exact face that each triangle lies on
    drawing: Drawing | None = None  # what the file asks for on its faces; None where it says nothing
    findings: tuple[Finding, ...] = ()  # what was noticed in reading
