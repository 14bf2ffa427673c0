"""When orders will be ready with which chance, if the plan is kept as a shop keeps it."""

from sagger.stations.dates.durations import Drawn, Scattering, drawn
from sagger.stations.dates.passed import order_ends_drawn, quantile

EDITION = "1"

__all__ = ["EDITION", "Drawn", "Scattering", "drawn", "order_ends_drawn", "quantile"]
