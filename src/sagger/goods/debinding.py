"""How the binder leaves the thickest wall: as the programme has it, and as it might."""

from __future__ import annotations

from sagger.goods.good import good, holds
from sagger.goods.powder import Segment


@good
class DebindingCourse:
    """One way through debinding, at the thickest wall."""

    time: float = holds("from room temperature to the end of the debinding stage", "s")
    overpressure: float = holds("highest, in the middle of the wall", "Pa")
    hottest: float = holds("temperature at which it is highest", "K")
    loss: float = holds("highest rate at which the share gone grows", "1/s", shown="%/min")
    gone: float = holds("of the binder, at the end of the stage", "share")


@good
class RateLimit:
    """Heating rate at which a wall of this fineness just reaches the pressure allowed."""

    wall: float = holds("at green size", "m")
    grain: float = holds("of the powder", "m", shown="um")
    rate: float = holds("steady", "K/s")


@good
class Debinding:
    """How the binder leaves the thickest wall."""

    part: int = holds("index into `parts`: whose wall it is")
    wall: float = holds("thickest, at green size", "m")
    binder: float = holds("mass of binder over mass of powder", "share")
    allowed: float = holds("overpressure", "Pa")
    planned: DebindingCourse = holds("by the programme")
    planned_u: float = holds("standard uncertainty", "Pa")
    wall_most: float = holds("thickest green wall to rely on: by the law, or in print if less", "m")
    rate_limit: float = holds("steady heating through burnout at the pressure allowed", "K/s")
    rate_limit_u: float = holds("standard uncertainty", "K/s")
    limits: tuple[RateLimit, ...] = holds("by thickness and by fineness")
    lag: float = holds("of the wall's middle behind its faces at the stage's fastest heating", "K", shown="K")
    proposal: tuple[Segment, ...] = holds("debinding stage to try; empty if none is worth it")
    proposed: DebindingCourse | None = holds("what it would do; None if there is none")
    bounds: str = holds("what the proposal keeps to")
    standing: str = holds("of the weakest figure that the pressure rests on")
    wall_by_law: float = holds("thickest green wall by the law of pressure alone", "m", default=0.0)
