"""What is said of all boxes of a nest at once."""

from __future__ import annotations

import dataclasses

from sagger.goods.finding import Finding
from sagger.goods.layout import Nest


def noted(nest: Nest, note: Finding) -> Nest:
    """The nest with a finding on each of its boxes."""
    layouts = (dataclasses.replace(each, findings=(*each.findings, note)) for each in nest.layouts)
    return Nest(layouts=tuple(layouts))


def high_mm(nest: Nest) -> float:
    """Heights of all its builds together [mm]."""
    return sum(layout.height_mm for layout in nest.layouts)
