"""Can this part be made, and what was asked for?"""

from sagger.stations.intake.chosen import chosen
from sagger.stations.intake.drawn import asked
from sagger.stations.intake.examine import check
from sagger.stations.intake.turns import turns

EDITION = "12"

__all__ = ["EDITION", "asked", "check", "chosen", "turns"]
