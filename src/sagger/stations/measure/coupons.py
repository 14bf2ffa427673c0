"""Coupons of an order as parts of it: each with its own label, so that a reading belongs to a place."""

from __future__ import annotations

import dataclasses

from sagger.errors import InputError
from sagger.geometry.surface import dots
from sagger.geometry.surface.coupon import drawn
from sagger.goods.good import digest
from sagger.goods.order import Coupon, Request, Tolerance
from sagger.goods.shape import PartFile, Shape

_WIDE = Tolerance(kind="percent", value=2.0)  # nothing is promised of a coupon


def coupons(asked: tuple[Coupon, ...]) -> tuple[tuple[Request, ...], tuple[PartFile, ...]]:
    """A request and a drawn part file for each coupon, in the order of places.

    Parameters
    ----------
    asked : tuple of Coupon
        Equal spots of several sets bear the same place number and lie side by side.

    Returns
    -------
    tuple of Request, tuple of PartFile
        Named "steps 3-07" for the kind, the series and the place; the label on the piece says 3 and 7.

    Raises
    ------
    InputError
        If there are more places than labels, or one kind is asked twice at a place.
    """
    numbers: dict[tuple[float, float, float], int] = {}
    pieces: dict[str, tuple[Request, PartFile]] = {}
    for coupon in asked:
        for spot in coupon.spots:
            place = numbers.setdefault((spot.x, spot.y, spot.z_mm), len(numbers) + 1)
            shape = _shape(coupon, place)
            name = f"{coupon.kind} {coupon.series}-{place:02d}"
            if name in pieces:
                remedy = "Merge the two [[coupon]] tables, or give them different series."
                raise InputError("the same coupon is asked twice at one place", value=name, remedy=remedy)
            request = Request(
                name=name,
                file=f"{name} (drawn)",
                unit="mm",
                quantity=1,
                tolerance=_WIDE,
                orientations="fixed",
                held=(dataclasses.replace(spot),),
            )
            file = PartFile(
                name=request.file,
                digest=digest(shape),
                format="drawn",
                unit="mm",
                unit_from="order",
                shape=shape,
            )
            pieces[name] = (request, file)
    return tuple(request for request, _ in pieces.values()), tuple(file for _, file in pieces.values())


def _shape(coupon: Coupon, place: int) -> Shape:
    vertices, triangles = drawn(coupon.kind, dots.written(coupon.series, place))
    return Shape(vertices=vertices, triangles=triangles)
