"""What can be promised: sizes, whole pieces, and enough of them, by one set of draws."""

from sagger.stations.promise.by_turn import by_turn
from sagger.stations.promise.stated import state

EDITION = "7"

__all__ = ["EDITION", "by_turn", "state"]
