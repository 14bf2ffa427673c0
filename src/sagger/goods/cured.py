"""When the pieces in a box are cured."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Spot:
    """A place in the box, and whose piece is there."""

    part: int  # index into the layout's greens
    number: int  # of the piece
    at_mm: tuple[float, float, float]  # in the box, middle of the voxel


@good
class Course:
    """What the oven and the pieces do, from closing its door to opening it."""

    time: ndarray  # float64 (n,) [s]
    oven: ndarray  # float64 (n,) [K]
    core: ndarray  # of the coldest place in any piece [K]
    corner: ndarray  # of the hottest [K]
    core_degree: ndarray  # of cure, of the place in any piece that has cured least [-]
    corner_degree: ndarray  # most [-]


@good
class Shorter:
    """A programme that cures the last piece as far in less time."""

    programme: tuple[tuple[float, float], ...]  # time [s], oven [K]; straight in between
    time_to_cure: float  # last piece reaches `degree` [s]
    corner_equivalent: float  # as in `Cured` [s]
    saved: float  # before the last piece is cured by the programme planned [s]


@good
class Conduction:
    """How the box was taken to conduct."""

    conductivity: float  # of loose powder [W/(m K)]
    conductivity_u: float
    origin: str  # "card" or "law"
    piece_conductivity: float  # [W/(m K)]
    voxels: tuple[int, int, int]


@good
class Cured:
    oven_temperature: float  # highest of the programme [K]
    core_temperature: float  # asked of every piece [K]
    time_to_temperature: float  # coldest piece reaches it [s]
    time_to_cure: float  # last piece reaches `degree` of cure [s]
    degree: float  # asked [-]
    final_degree: float  # of the last piece when the box is opened [-]
    corner_equivalent: float  # hottest piece's time at cure temperature when heating ends [s]
    corner_most: float  # longest that it may be [s]
    hold: float  # heating planned, ramp included: the longer of both times [s]
    hold_u: float  # standard uncertainty of it [s]
    shares: tuple[tuple[str, float], ...]  # what makes hold_u: its part of the variance
    cool: float  # until the box may be opened [s]
    programme: tuple[tuple[float, float], ...]  # time [s], oven [K]; straight in between, cooling included
    last: Spot | None  # whose core is cured last; None: no pieces
    hottest: Spot | None  # that has cured most
    shorter: Shorter | None  # None: none found within the limits
    course: Course
    bed: Conduction
    findings: tuple[Finding, ...]
    degrees: ndarray | None = None  # float64 (pieces,): of cure, of each piece's least cured voxel when the
    # box is opened [-]; None in ledgers of editions up to 3
