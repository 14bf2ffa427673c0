"""Can this part be made, and what was asked for?"""

from sagger.stations.intake import asked_for, characteristics, clicked
from sagger.stations.intake.chosen import chosen
from sagger.stations.intake.drawn import asked
from sagger.stations.intake.examine import check
from sagger.stations.intake.turns import rotation, turns

EDITION = "13"

__all__ = [
    "EDITION",
    "asked",
    "asked_for",
    "characteristics",
    "check",
    "chosen",
    "clicked",
    "rotation",
    "turns",
]
