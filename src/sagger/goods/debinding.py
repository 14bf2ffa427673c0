"""How the binder leaves the thickest wall: as the programme has it, and as it might."""

from __future__ import annotations

from sagger.goods.good import good
from sagger.goods.powder import Segment


@good
class Course:
    """One way through debinding."""

    time: float  # from room temperature to the end of the debinding stage [s]
    overpressure: float  # highest, in the middle of the wall [Pa]
    hottest: float  # temperature at which it is highest [K]
    loss: float  # highest rate at which the share gone grows [1/s]
    gone: float  # share of the binder gone at the end of the stage [-]


@good
class RateLimit:
    """Heating rate at which one wall of one fineness just reaches the pressure allowed."""

    wall: float  # [m]
    grain: float  # d50 [m]
    rate: float  # [K/s]


@good
class Debinding:
    part: int  # whose wall it is
    wall: float  # thickest, at green size [m]
    binder: float  # mass of binder over mass of powder [-]
    allowed: float  # overpressure [Pa]
    planned: Course  # by the programme that is run
    planned_u: float  # standard uncertainty of its overpressure [Pa]
    wall_most: float  # thickest wall that the programme bears [m]
    rate_limit: float  # steady heating rate through burnout at which the pressure allowed is reached [K/s]
    rate_limit_u: float  # standard uncertainty [K/s]
    limits: tuple[RateLimit, ...]  # by thickness and by fineness
    lag: float  # of the wall's middle behind its faces, at the stage's fastest heating [K]
    proposal: tuple[Segment, ...]  # debinding stage; empty if none is worth a trial
    proposed: Course | None
    bounds: str  # what the proposal keeps to, in words
    standing: str  # of the weakest figure that the pressure rests on
