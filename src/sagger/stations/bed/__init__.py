"""What bed the powder lot on the shelf makes."""

from sagger.stations.bed.blending import blend
from sagger.stations.bed.powder_then import earlier
from sagger.stations.bed.spreading import spread

EDITION = "3"

__all__ = ["EDITION", "blend", "earlier", "spread"]
