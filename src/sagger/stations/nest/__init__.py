"""Where each piece lies in the box."""

from sagger.stations.nest.pack import pack

EDITION = "1"

__all__ = ["EDITION", "pack"]
