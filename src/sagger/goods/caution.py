"""A hazard that a material or a step brings, and whose rules govern it."""

from __future__ import annotations

from sagger.goods.good import good, holds


@good
class Caution:
    """A usual caution; not a safety assessment."""

    key: str = holds("hazard: metal dust, silica, hydrogen, …")
    step: str = holds("of the route at which it matters most: print, cure, depowder, sinter, …")
    text: str = holds("usual caution, in one or two sentences")
    defer_to: str = holds("standards and rules to follow, edition in force")
    source: str = holds("key of its source")
    standing: str = holds("of its source")
