"""Which drops fall in each layer."""

from sagger.stations.layers.band import Field, Sheet
from sagger.stations.layers.draw import draw
from sagger.stations.layers.press import Press, press
from sagger.stations.layers.sheets import count, each, sheet
from sagger.stations.layers.style import Patience, Style, Treatment
from sagger.stations.layers.warm import warm

EDITION = "1"

__all__ = [
    "EDITION",
    "Field",
    "Patience",
    "Press",
    "Sheet",
    "Style",
    "Treatment",
    "count",
    "draw",
    "each",
    "press",
    "sheet",
    "warm",
]
