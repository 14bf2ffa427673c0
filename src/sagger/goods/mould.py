"""What a foundry is told about printed sand."""

from __future__ import annotations

from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.good import good, holds


@good
class Contraction:
    """Linear contraction of the metal to be cast, as two sources have it."""

    alloy: str = holds("to be cast")
    used: Figure
    other: Figure
    apart_mm: float = holds("what the difference makes of the longest size of the order", "mm")


@good
class Mould:
    """What a foundry is told about printed sand."""

    contraction: Contraction | None = holds("None if no alloy was said; parts then keep their size")
    fineness: float = holds("grain fineness number")
    basis: str = holds("what fineness and permeability rest on")
    permeability: float = holds("permeability number, by Kozeny and Carman")
    permeability_u: float = holds("standard uncertainty")
    saturation: float = holds("binder over pores, as printed", "share")
    resin: float = holds("mass of resin over mass of printed sand", "share")
    ignition: float = holds("expected", "share")
    ignition_u: float = holds("standard uncertainty, from the acid", "share")
    standing: str = holds("of the weakest figure that these rest on")
    findings: tuple[Finding, ...]
