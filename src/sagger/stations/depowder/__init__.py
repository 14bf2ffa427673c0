"""From cured box to clean green parts: what comes back, what stays, and what each part bears."""

from sagger.stations.depowder.planning import plan

EDITION = "2"

__all__ = ["EDITION", "plan"]
