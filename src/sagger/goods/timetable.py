"""How long each layer and the box take."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Timetable:
    spread: float  # [s] per layer, as all below
    back: float  # return of the spreader
    passes: int  # per layer
    stripes: int
    print: float
    dry: float
    clean: float  # share of one layer
    platform: float
    layer: float  # sum
    layers: int
    build: float  # [s], all layers
    setup: float  # [s]
    firing: float  # [Hz]
    firing_most: float  # [Hz]
    lamp_power: float  # electric, while drying [W]
    vapour: float  # flammable solvent released while printing [kg/s]
    ventilation: float  # air that holds the vapour at a quarter of its lower explosive limit, 20 degC [m3/s]
    findings: tuple[Finding, ...]
