"""From wet box to a part that can be lifted."""

from sagger.stations.cure.calibrate import calibrate
from sagger.stations.cure.cured import plan

EDITION = "6"
__all__ = ["EDITION", "calibrate", "plan"]
