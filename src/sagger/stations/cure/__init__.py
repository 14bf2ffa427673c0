"""From wet box to a part that can be lifted."""

from sagger.stations.cure.calibrate import calibrate
from sagger.stations.cure.planning import plan

EDITION = "4"
__all__ = ["EDITION", "calibrate", "plan"]
