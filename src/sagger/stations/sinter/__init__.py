"""Debinding and sintering: programme, load, predicted piece."""

from sagger.stations.sinter.bend import by_scans, predeform
from sagger.stations.sinter.firing import Uneven
from sagger.stations.sinter.plan import plan
from sagger.stations.sinter.shape import deform

EDITION = "10"

__all__ = ["EDITION", "Uneven", "by_scans", "deform", "plan", "predeform"]
