"""What a part does in the furnace beyond shrinking evenly, and what was done about it."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.shape import Shape


@good
class Misfit:
    """Distance of the finished surface from nominal, lying on the setter's plane as on a surface plate.

    z counts from that plane; along x, y and about z the surface is laid on nominal.
    """

    rms_mm: float = holds("over the area", "mm")
    most_mm: float = holds("anywhere", "mm")
    # without what standing askew adds
    fit_rms_mm: float = holds("over the area, after the best rigid fit", "mm")


@good
class Deformed:
    """A part as it comes out of the furnace, standing as in its first orientation, setter at z = 0."""

    surface: Shape  # the part's own triangles, long ones divided [mm]
    nominal: ndarray  # float64 (n, 3): where its vertices should be [mm]
    density: ndarray  # float64 (n,): relative, at the vertices [-]
    tension: ndarray  # float64 (n,): largest principal tension on the way over sintering stress [-]
    misfit: Misfit
    cells: int
    pitch_mm: float
    steps: int
    iterations: int
    findings: tuple[Finding, ...]


@good
class Sag:
    """How far a part comes out off nominal by finite elements: as it is, and pre-deformed."""

    method: str = holds("coarse or fine grid", one_of=("quick", "full"))
    before: Misfit | None = holds("printed at even oversize; None if it could not be followed")
    after: Misfit | None = holds("pre-deformed, on an unrelated finer grid; None if it was left as it is")
    rounds: int = holds("of bending")
    cells: int = holds("of the grid it was bent on")
    finished: Deformed | None  # as checked; None if nothing could be followed
    findings: tuple[Finding, ...]
    # float64 (n, 3): how far off nominal the vertices of `finished` would come out, printed at even oversize
    # [mm]; None if nothing could be followed, and in ledgers of editions up to 5
    untreated_mm: ndarray | None = None
