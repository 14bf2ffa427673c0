"""What it costs, when it is ready, what can be promised."""

from sagger.stations.cost.quote import quote

EDITION = "11"

__all__ = ["EDITION", "quote"]
