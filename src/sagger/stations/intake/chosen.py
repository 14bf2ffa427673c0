"""What holds for a job where order and part are silent: the powder card's bleed, depth, skin and core."""

from __future__ import annotations

import dataclasses
from typing import Any

from sagger.goods.order import Choices
from sagger.goods.powder import Powder

_OF_THE_CARD = (  # figure of the card, choice that goes before it, its unit in a metre
    ("bleed", "bleed_um", 1e6),
    ("bleed_depth", "depth_um", 1e6),
    ("skin", "skin_mm", 1e3),
    ("skin_saturation", "skin_saturation", 1.0),
    ("core_saturation", "core_saturation", 1.0),
)


def chosen(choices: Choices, powder: Powder) -> Choices:
    """The choices, those left open filled from the powder card where it has them."""
    filled: dict[str, Any] = {}
    for figure, choice, scale in _OF_THE_CARD:
        said = getattr(powder, figure)
        if getattr(choices, choice) is None and said is not None:
            filled[choice] = float(f"{said.value * scale:.12g}")
    return dataclasses.replace(choices, **filled)
