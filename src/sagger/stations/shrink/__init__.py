"""What must be printed so that the fired part is right."""

from sagger.stations.shrink.balance import balance
from sagger.stations.shrink.carry import Courses, carry, present
from sagger.stations.shrink.size import compensate, predict

EDITION = "2"

__all__ = ["EDITION", "Courses", "balance", "carry", "compensate", "predict", "present"]
