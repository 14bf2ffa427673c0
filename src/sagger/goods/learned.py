"""What readings taught: green density over the bed, and where the scatter of a length comes from."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.factors import Carried, Factors
from sagger.goods.furnace import Furnace
from sagger.goods.good import good


@good
class BedMap:
    """Green density over a box as a plane and a smooth field about it; all densities relative [-].

    The field is a Gaussian process with covariance amplitude^2 exp(-d^2 / 2), d the distance in units of
    `reach_mm` along each axis.
    """

    box: str  # name of the box card
    material: str  # name of the powder card
    places_mm: ndarray  # float64 (n, 3): where density was measured, machine axes
    density: ndarray  # float64 (n,) measured
    noise: float  # standard deviation of one reading about the field
    axes: tuple[int, ...]  # along which the plane has a slope; 0, 1, 2 = x, y, z
    amplitude: float  # standard deviation of the field about the plane; 0 = no field
    reach_mm: ndarray  # float64 (3,)
    reference: float  # density at which the approved factors hold


@good
class Scatter:
    """Where the scatter of a finished length comes from: standard deviations relative to the length [-]."""

    material: str
    lot: float
    bed: float
    furnace: float
    part: float
    gauge_mm: float  # standard uncertainty of one reading [mm]
    readings: int  # from how many
    lots: int
    beds: int
    furnaces: int
    origin: str  # "readings", or the ledger's entry


@good
class Approved:
    """What a person approved for a material and box; None until somebody did."""

    factors: Factors | None = None
    bed: BedMap | None = None
    scatter: Scatter | None = None
    furnace: Furnace | None = None  # in which the factors were measured; None: nothing else is known
    carried: Carried | None = None  # the factors under a job's conditions; set by the line


@good
class AxisLearned:
    """What readings along one machine axis say of green length over finished length."""

    axis: str
    readings: int
    pieces: int
    found: float  # k
    found_u: float
    freedom: float  # degrees of freedom of found_u
    offset_mm: float  # finished length that does not shrink with the part: bleed of binder; 0 if not told
    offset_u_mm: float
    offset_p: float  # chance of such an offset where there is none
    origin_k: float  # k by one line through the origin, every reading alike
    origin_u: float
    before: float  # k in force
    before_u: float
    conflict: float  # standard deviations between found and before
    weight: float  # of what was found, in the new k
    inflation: float  # how much a stable process would vary more if corrected by this weight each time
    k: float  # proposed
    u: float
    verdict: str  # "change", "keep" (inside the dead band), "look" (conflict), "blocked"


@good
class BleedLearned:
    """How far binder creeps beyond outlines, from bores against outsides; as printed [mm]."""

    found_mm: float
    u_mm: float
    freedom: float  # degrees of freedom of u_mm
    p: float  # chance of so much where there is none
    taken_mm: float  # that outlines were drawn inside by, the mean of the readings
    bores: int  # readings that bleed makes smaller
    outsides: int  # larger
    steps: int  # neither
    soaking_mm: float | None  # below undersides; None where it cannot be told from the factor along z
    soaking_u_mm: float | None


@good
class FactorProposal:
    """New factors, map of the bed and scatter, for a person to approve or not."""

    material: str
    box: str  # name of the box card; "" if the bed was not mapped
    lot: str  # "" = for every lot
    axes: tuple[AxisLearned, ...]
    factors: Factors
    bed: BedMap | None
    scatter: Scatter
    before_scatter_mm: float  # standard deviation of a length of `length_mm` in one box, one factor
    place_scatter_mm: float  # the same with factors by place
    length_mm: float
    notes: tuple[str, ...]
    readings: tuple[int, ...]  # numbers in the ledger
    bleed: BleedLearned | None = None  # None where no line of a drawing was read, or it cannot be told
