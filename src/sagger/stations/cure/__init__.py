"""From wet box to a part that can be lifted."""

from sagger.stations.cure.planning import plan

EDITION = "2"
__all__ = ["EDITION", "plan"]
