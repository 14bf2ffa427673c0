"""Debinding and sintering: programme, load, predicted piece."""

from sagger.stations.sinter.bend import predeform
from sagger.stations.sinter.firing import Uneven
from sagger.stations.sinter.foretell import foretell
from sagger.stations.sinter.outcome import reached
from sagger.stations.sinter.plan import plan

EDITION = "15"

__all__ = ["EDITION", "Uneven", "foretell", "plan", "predeform", "reached"]
