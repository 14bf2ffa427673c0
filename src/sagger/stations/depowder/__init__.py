"""From cured box to clean green parts: what comes back, what stays, and what each part bears."""

from sagger.stations.depowder.unpacked import plan

EDITION = "4"

__all__ = ["EDITION", "plan"]
