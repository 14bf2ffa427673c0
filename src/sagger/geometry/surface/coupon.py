"""Coupons: shapes made to be measured, at finished size [mm], with a label of dots sunk into the top.

Dots are sunk, not raised: a calliper's jaws and a surface plate bridge them, so no size depends on them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.geometry.surface.dots import SIDE

if TYPE_CHECKING:
    from manifold3d import Manifold

PITCH, DOT, DEEP = 2.2, 1.1, 0.6  # of the dots [mm]: wide enough for powder to come out
_BAR = 5.5  # length of the bar beside row 0 [mm]
_SIDES = 96  # of a cylinder
_OVER = 0.5  # a tool reaches beyond the face it cuts [mm]


class Kind(NamedTuple):
    """Sizes to be measured along x, y and z [mm], smallest first, and where the label's middle lies."""

    x: tuple[float, ...]
    y: tuple[float, ...]
    z: tuple[float, ...]
    label: tuple[float, float]


KINDS = {
    "bar": Kind((40.0,), (12.0,), (8.0,), (7.0, 6.0)),
    "cube": Kind((14.0,), (14.0,), (14.0,), (7.0, 7.0)),
    "steps": Kind((12.0, 20.0, 28.0), (12.0, 20.0, 28.0), (6.0, 12.0, 18.0), (6.0, 6.0)),
    "cylinder": Kind((16.0,), (16.0,), (14.0,), (8.0, 8.0)),
}


def drawn(kind: str, dots: ndarray) -> tuple[ndarray, ndarray]:
    """Corners float64 (n, 3) [mm] and triangles int32 (m, 3) of one coupon, its lower corner at the origin.

    Parameters
    ----------
    kind : str
        "bar", "cube", "steps" (three sizes along each axis from one corner) or "cylinder" (upright, for
        density).
    dots : ndarray
        bool (4, 4): the label, see `dots.written`.

    Raises
    ------
    InputError
        If there is no such kind.
    """
    if kind not in KINDS:
        known = ", ".join(KINDS)
        raise InputError("no such coupon", field="kind", value=kind, remedy=f"Known: {known}.")
    body = _body(kind)
    for tool in _label(dots):
        at = np.append(KINDS[kind].label, KINDS[kind].z[-1])
        body = body - tool.translate(tuple(at))
    mesh = body.to_mesh64()
    corners = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    return np.ascontiguousarray(corners), np.asarray(mesh.tri_verts, dtype=np.int32)


def _body(kind: str) -> Manifold:
    from manifold3d import Manifold

    sizes = KINDS[kind]
    if kind == "cylinder":
        radius = sizes.x[0] / 2
        return Manifold.cylinder(sizes.z[0], radius, circular_segments=_SIDES).translate((radius, radius, 0))
    body = Manifold()
    for x, y, z in zip(sizes.x[::-1], sizes.y[::-1], sizes.z, strict=True):  # wide and low, narrow and high
        body = body + Manifold.cube((x, y, z))
    return body


def _label(dots: ndarray) -> list[Manifold]:
    """Tools that sink a label, its middle at the origin: row 0 and the bar at low x, columns along y."""
    from manifold3d import Manifold

    tall = DEEP + _OVER
    dot = Manifold.cube((DOT, DOT, tall), True).translate((0, 0, tall / 2 - DEEP))
    first = -PITCH * (SIDE - 1) / 2
    shift = (PITCH - DOT) / 2 + DOT / 2  # dots and bar together lie about the middle
    tools = [
        dot.translate((first + PITCH * row + shift, first + PITCH * column, 0))
        for row, column in np.argwhere(dots).tolist()
    ]
    bar = Manifold.cube((DOT, _BAR, tall), True).translate((first - PITCH + shift, 0, tall / 2 - DEEP))
    return [*tools, bar]
