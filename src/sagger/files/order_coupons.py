"""Tables of coupons as an order has them."""

from __future__ import annotations

from sagger import units
from sagger.files.order_form import PLACES, CouponTable
from sagger.goods.order import Coupon, Spot


def coupon(table: CouponTable) -> Coupon:
    """Coupons of one kind, as a table says them."""
    height = units.into(units.read(table.height, "length"), "mm")
    places = PLACES[table.places] if isinstance(table.places, str) else table.places
    spots = tuple(Spot(x=float(x), y=float(y), z_mm=float(f"{height:.12g}")) for x, y in places)
    return Coupon(kind=table.kind, spots=spots, series=table.series)
