"""What the furnace will give."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.debinding import Debinding
from sagger.goods.finding import Finding
from sagger.goods.good import good
from sagger.goods.load import Load
from sagger.goods.powder import Segment


@good
class Place:
    """A place in the furnace that is colder or hotter than the programme says."""

    name: str  # "coldest", "hottest"
    warmer: float  # than the programme, a difference [K]
    density: float  # relative [-]
    ratio: ndarray  # float64 (3,): finished / green length along machine x, y, z [-]


@good
class Proposal:
    """The quickest programme that gives the density asked for, by the law; the card's is the one planned."""

    programme: tuple[Segment, ...]
    run: float  # heating, holds and cooling [s]
    density: float  # relative [-]
    bounds: str  # what it was searched within, in words


@good
class Sintered:
    programme: tuple[Segment, ...]
    load: Load
    time: ndarray  # float64 (n,) [s] from start of heating
    temperature: ndarray  # float64 (n,) [K]
    density: ndarray  # float64 (n,) relative [-]
    burnout: ndarray  # float64 (n,) share of binder gone [-]
    final_density: float  # relative [-]
    final_density_u: float  # standard uncertainty [-]
    ratio: ndarray  # float64 (3,): finished / green length along machine x, y, z [-]
    ratio_u: ndarray  # float64 (3,): standard uncertainty [-]
    run: float  # heating, holds and cooling [s]
    findings: tuple[Finding, ...]
    ratio_u_furnace: ndarray  # float64 (3,): the part of ratio_u that is a piece's place in the furnace [-]
    places: tuple[Place, ...] = ()
    grain: ndarray | None = None  # float64 (n,) grain size [m]; None where the card has no grain growth
    proposal: Proposal | None = None
    debinding: Debinding | None = None  # None: no binder to leave
