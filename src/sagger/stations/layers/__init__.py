"""Which drops fall in each layer."""

from sagger.stations.layers.draw import draw
from sagger.stations.layers.press import Press, press
from sagger.stations.layers.sheets import Sheet, count, each, sheet
from sagger.stations.layers.warm import warm

EDITION = "1"

__all__ = ["EDITION", "Press", "Sheet", "count", "draw", "each", "press", "sheet", "warm"]
