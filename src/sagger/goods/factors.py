"""Oversize factors per machine axis, with uncertainty."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good


@good
class Factors:
    k: ndarray  # float64 (3,): green length / finished length along machine x, y, z [-]
    u: ndarray  # float64 (3,): standard uncertainty of k [-]
    material: str  # powder card they hold for
    origin: str  # "card", "casting contraction", or the ledger's entry
    lot: str = ""
