"""The bed that a powder lot makes when it is spread."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good
from sagger.goods.powder import Powder


@good
class Bed:
    lot: str  # its name; "" if the card stands for it
    powder: Powder  # the card, with what was measured on the lot in place of its own figures
    basis: str  # what the packing rests on, in words
    standing: str  # of the weakest figure it rests on
    packing: float  # share of the spread bed that is solid [-]
    packing_u: float  # standard uncertainty [-]
    green: float  # relative density of the green part, binder excluded; the packing for sand [-]
    green_u: float  # standard uncertainty [-]
    alone: float  # packing of one size alone in this bed, by the linear model [-]
    models: tuple[
        tuple[str, float], ...
    ]  # packing that each model makes of the curve, calibrated on the card
    d99: float | None  # [m]; None if no curve reaches it
    hausner: float | None  # tap over apparent density [-]
    flow: str  # class after USP <1174>; "" without both densities
    findings: tuple[Finding, ...]
