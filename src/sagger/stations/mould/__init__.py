"""Printed sand as a foundry looks at it: contraction, fineness, permeability, gas."""

from sagger.stations.mould.judging import judge

EDITION = "3"

__all__ = ["EDITION", "judge"]
