"""How much powder and binder one box takes, and whether it will jet and wet."""

from sagger.stations.dosing.dose import plan

EDITION = "6"
__all__ = ["EDITION", "plan"]
