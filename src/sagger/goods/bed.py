"""The bed that a powder lot makes when it is spread."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.powder import Powder


@good
class Bed:
    """The bed that the powder makes when it is spread."""

    lot: str = holds("name of the powder lot; empty if the card stands for it")
    powder: Powder  # the card, with what was measured on the lot in place of its own figures
    basis: str = holds("what the packing rests on")
    standing: str = holds("of the weakest figure it rests on")
    packing: float = holds("share of the spread bed that is solid", "share")
    packing_u: float = holds("standard uncertainty", "share")
    green: float = holds("relative, binder excluded; the packing for sand", "share")
    green_u: float = holds("standard uncertainty", "share")
    alone: float = holds("packing of one size alone in this bed, by the linear model", "share")
    models: tuple[tuple[str, float], ...] = holds("what packing models make of the lot's size curve", "share")
    d99: float | None = holds("None if no curve reaches it", "m", shown="um")
    hausner: float | None = holds("tap over apparent density; None without both")
    flow: str = holds("class after USP 1174; empty without both densities")
    findings: tuple[Finding, ...]
