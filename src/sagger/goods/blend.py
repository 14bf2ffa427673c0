"""What a second cut would do to a powder lot."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Mixed:
    """One second cut at the share that packs closest."""

    name: str  # of the lot, or the size of an imagined cut
    share: float  # of the second cut, by mass [-]
    packing: float  # of the spread bed [-]
    packing_u: float  # standard uncertainty [-]
    gain: float  # relative, by the linear model [-]
    gain_u: float  # standard uncertainty, from the models' disagreement and the linear model's own [-]
    gains: tuple[tuple[str, float], ...]  # by each model, at this share [-]
    length: float  # relative change of a finished length fired to one density from one green size [-]
    d50: float  # of the blend [m]
    d90: float  # [m]
    findings: tuple[Finding, ...]


@good
class Blend:
    base: str  # lot that is blended into
    packing: float  # of its spread bed [-]
    packing_u: float
    layer: float  # [m]
    mixed: tuple[Mixed, ...]  # the one that packs closest first
