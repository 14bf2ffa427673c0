"""When the pieces in a box are cured."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds


@good
class CuredSpot:
    """A place in the box, and whose piece is there."""

    part: int = holds("index into `parts`")
    number: int = holds("of the piece")
    at_mm: tuple[float, float, float] = holds("in the box", "mm")


@good
class OvenCourse:
    """What oven and pieces do, from closing the oven to opening it; rows of one length."""

    time: ndarray = holds("from closing the oven", "s")  # float64 (n,), as all below
    oven: ndarray = holds("set point", "K")
    core: ndarray = holds("coldest place in any piece", "K")
    corner: ndarray = holds("hottest place in any piece", "K")
    core_degree: ndarray = holds("degree of cure where it is least", "share")
    corner_degree: ndarray = holds("where it is most", "share")


@good
class Shorter:
    """A programme that cures the last piece as far in less time, within the limits."""

    # time [s], oven [K]
    programme: tuple[tuple[float, float], ...] = holds("hours from closing the oven, °C; straight in between")
    time_to_cure: float = holds("last piece", "s")
    corner_equivalent: float = holds("hottest piece's time at cure temperature when heating ends", "s")
    saved: float = holds("before the last piece is cured by the programme planned", "s")


@good
class Conduction:
    """How the box was taken to conduct."""

    conductivity: float = holds("of loose powder", "W/m.K")
    conductivity_u: float = holds("standard uncertainty", "W/m.K")
    origin: str = holds("card or law")
    piece_conductivity: float = holds("of printed pieces", "W/m.K")
    voxels: tuple[int, int, int] = holds("the bed was computed on")


@good
class Cured:
    """One box in the oven."""

    oven_temperature: float = holds("highest of the programme", "K")
    core_temperature: float = holds("every piece must reach", "K")
    time_to_temperature: float = holds("coldest place in any piece", "s")
    time_to_cure: float = holds("last piece", "s")
    degree: float = holds("degree of cure asked of the last piece", "share")
    final_degree: float = holds("of the last piece when the box is opened", "share")
    corner_equivalent: float = holds("hottest piece's time at cure temperature when heating ends", "s")
    corner_most: float = holds("longest that it may be", "s")
    hold: float = holds("heating planned, ramp included", "s")
    hold_u: float = holds("standard uncertainty of it", "s")
    shares: tuple[tuple[str, float], ...] = holds("parts of its variance", "share")
    cool: float = holds("until the box may be opened", "s")
    # time [s], oven [K], cooling included
    programme: tuple[tuple[float, float], ...] = holds("hours from closing the oven, °C; straight in between")
    last: CuredSpot | None = holds("cured last; None without pieces")
    hottest: CuredSpot | None = holds("that has cured most; None without pieces")
    shorter: Shorter | None = holds("None if none was found")
    course: OvenCourse = holds("histories at evenly spaced moments")
    bed: Conduction = holds("how the box was taken to conduct")
    findings: tuple[Finding, ...]
    degrees: ndarray | None = None  # float64 (pieces,): of cure, of each piece's least cured voxel when the
    # box is opened [-]; None in ledgers of editions up to 3
