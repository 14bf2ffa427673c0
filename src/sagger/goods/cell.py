"""The cell that was chosen for a job: one card of each kind."""

from __future__ import annotations

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.furnace import Furnace
from sagger.goods.good import good
from sagger.goods.head import Head
from sagger.goods.lot import Lot
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.goods.shop import Shop


@good
class Cell:
    powder: Powder
    binder: Binder
    head: Head
    box: Box
    oven: Oven
    furnace: Furnace | None  # sand stops after the oven
    shop: Shop
    lot: Lot | None = None  # of the powder; None: the card stands for it
