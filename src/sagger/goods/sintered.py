"""What the furnace will give."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good
from sagger.goods.load import Load
from sagger.goods.powder import Segment


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
