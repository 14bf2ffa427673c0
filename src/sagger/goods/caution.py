"""A hazard that a material or a step brings, and whose rules govern it."""

from __future__ import annotations

from sagger.goods.good import good


@good
class Caution:
    key: str  # "metal dust", "silica", "hydrogen", …
    step: str  # step of the route at which it matters most: "print", "cure", "depowder", "sinter", …
    text: str  # usual caution, in one or two sentences
    defer_to: str  # standards and rules to follow, edition in force
    source: str  # key in sources.toml
    standing: str
