"""Where each piece lies in the box."""

from sagger.stations.nest.own_place import oversize_at, pack_by_place
from sagger.stations.nest.pack import pack

EDITION = "7"

__all__ = ["EDITION", "oversize_at", "pack", "pack_by_place"]
