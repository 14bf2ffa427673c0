"""Debinding and sintering: programme, load, predicted piece."""

from sagger.stations.sinter.plan import plan

EDITION = "5"

__all__ = ["EDITION", "plan"]
