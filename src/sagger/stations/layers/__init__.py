"""Which drops fall in each layer."""

from sagger.stations.layers.band import Field, Sheet
from sagger.stations.layers.counting import Count, counted, tally
from sagger.stations.layers.draw import draw, lattice, raster
from sagger.stations.layers.layer_findings import noticed
from sagger.stations.layers.nozzles import made_good
from sagger.stations.layers.passes import Pass, pass_image, pass_sheet, passes, served
from sagger.stations.layers.press import ReadyStack, press
from sagger.stations.layers.sheets import count, drawn, sheet
from sagger.stations.layers.snap import settled, snapped, spacing
from sagger.stations.layers.verify import Claim, Claimed, PieceCheck, Verdict, claim, verify
from sagger.stations.layers.warm import warm

EDITION = "6"

__all__ = [
    "EDITION",
    "Claim",
    "Claimed",
    "Count",
    "Field",
    "Pass",
    "PieceCheck",
    "ReadyStack",
    "Sheet",
    "Verdict",
    "claim",
    "count",
    "counted",
    "draw",
    "drawn",
    "lattice",
    "made_good",
    "noticed",
    "pass_image",
    "pass_sheet",
    "passes",
    "press",
    "raster",
    "served",
    "settled",
    "sheet",
    "snapped",
    "spacing",
    "tally",
    "verify",
    "warm",
]
