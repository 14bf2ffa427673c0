"""How much powder and binder one box takes, and whether it will jet and wet."""

from sagger.stations.dosing.planning import plan

EDITION = "5"
__all__ = ["EDITION", "plan"]
