"""What holds for a job where order and part are silent: the powder card's bleed, depth, skin and core."""

from __future__ import annotations

import dataclasses

from sagger.goods.figure import Figure
from sagger.goods.order import Choices
from sagger.goods.powder import Powder


def chosen(choices: Choices, powder: Powder) -> Choices:
    """The choices, those left open filled from the powder card where it has them."""
    return dataclasses.replace(
        choices,
        bleed_um=_filled(choices.bleed_um, powder.bleed, 1e6),
        depth_um=_filled(choices.depth_um, powder.bleed_depth, 1e6),
        skin_mm=_filled(choices.skin_mm, powder.skin, 1e3),
        skin_saturation=_filled(choices.skin_saturation, powder.skin_saturation, 1.0),
        core_saturation=_filled(choices.core_saturation, powder.core_saturation, 1.0),
    )


def _filled(choice: float | None, figure: Figure | None, scale: float) -> float | None:
    """The choice, else the card's figure times `scale`, as it would have been written."""
    if choice is not None or figure is None:
        return choice
    return float(f"{figure.value * scale:.12g}")
