"""How long each layer and the box take."""

from sagger.stations.cycle.clock import time

EDITION = "6"
__all__ = ["EDITION", "time"]
