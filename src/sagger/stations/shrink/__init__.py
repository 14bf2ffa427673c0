"""What must be printed so that the fired part is right."""

from sagger.stations.shrink.size import compensate, predict

EDITION = "1"

__all__ = ["EDITION", "compensate", "predict"]
