"""Which drops fall in each layer."""

from sagger.stations.layers.band import Field, Sheet
from sagger.stations.layers.draw import draw
from sagger.stations.layers.passes import Pass, made_good, pass_image, passes, served
from sagger.stations.layers.press import Press, press
from sagger.stations.layers.sheets import count, each, sheet
from sagger.stations.layers.snap import snapped
from sagger.stations.layers.style import Patience, Style, Treatment
from sagger.stations.layers.verify import PieceCheck, Verdict, verify
from sagger.stations.layers.warm import warm

EDITION = "1"

__all__ = [
    "EDITION",
    "Field",
    "Pass",
    "Patience",
    "PieceCheck",
    "Press",
    "Sheet",
    "Style",
    "Treatment",
    "Verdict",
    "count",
    "draw",
    "each",
    "made_good",
    "pass_image",
    "passes",
    "press",
    "served",
    "sheet",
    "snapped",
    "verify",
    "warm",
]
