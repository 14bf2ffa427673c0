"""A powder lot as it stands on the shelf: what was measured, and how often it has been through a box."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.figure import Figure
from sagger.goods.good import good


@good
class SizeCurve:
    """Cumulative size curve by mass, as sieves or laser diffraction give it."""

    size: ndarray  # float64 (n,) rising [m]
    finer: ndarray  # float64 (n,) mass share finer than `size`, rising, 0 to 1 [-]
    method: str  # "sieve" or "laser diffraction"


@good
class Lot:
    name: str
    powder: str  # name of the powder card
    origin: str  # "received", "sieved", "blended", "recovered"
    curve: SizeCurve | None = None
    apparent_density: Figure | None = None  # [kg/m3]
    tap_density: Figure | None = None  # [kg/m3]
    solid_density: Figure | None = None  # pycnometer [kg/m3]
    green_density: Figure | None = None  # of coupons printed from this lot, relative to the solid [-]
    oxygen: Figure | None = None  # mass share [-]
    exposures: ndarray | None = None  # float64 (n,) mass share that has been in 0, 1, 2 ... builds; sums to 1
    price: Figure | None = None  # [currency/kg], in place of the card's


@good
class Shelved:
    """A lot as the ledger knows it now: what was measured, the rest worked out of what it was made from."""

    lot: Lot
    mass: float  # on the shelf [kg]
    made: float  # when it came to be [kg]
    sources: tuple[str, ...]  # lots, or the box, that it was made from
    entry: int  # in which it came to be
    measured: tuple[str, ...]  # fields of the lot that were measured on it
