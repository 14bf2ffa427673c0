"""What a foundry is told about printed sand."""

from __future__ import annotations

from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Contraction:
    """Linear contraction of the metal to be cast, as two sources have it."""

    alloy: str
    used: Figure
    other: Figure
    apart_mm: float  # what the difference makes of the longest size of the order


@good
class Mould:
    contraction: Contraction | None  # None: no alloy was said, the part keeps its size
    fineness: float  # AFS grain fineness number [-]
    basis: str  # what it and the permeability rest on, in words
    permeability: float  # AFS number [-]
    permeability_u: float  # standard uncertainty [-]
    saturation: float  # binder over pores, as printed [-]
    resin: float  # mass of resin over mass of printed sand [-]
    ignition: float  # loss on ignition expected [-]
    ignition_u: float  # standard uncertainty [-]
    standing: str  # of the weakest figure that these rest on
    findings: tuple[Finding, ...]
