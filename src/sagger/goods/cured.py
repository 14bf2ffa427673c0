"""When the core of the box is cured."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Cured:
    oven_temperature: float  # [K]
    core_temperature: float  # asked [K]
    time_to_temperature: float  # core reaches it [s]
    time_to_cure: float  # core reaches `degree` of cure [s]
    degree: float  # asked [-]
    corner_equivalent: float  # a corner's time at cure temperature when the core is done [s]
    hold: float  # oven time planned: the longer of both [s]
    cool: float  # [s]
    findings: tuple[Finding, ...]
