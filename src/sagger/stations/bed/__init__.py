"""What bed the powder lot on the shelf makes."""

from sagger.stations.bed.blending import blend
from sagger.stations.bed.spreading import spread

EDITION = "1"

__all__ = ["EDITION", "blend", "spread"]
