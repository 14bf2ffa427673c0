"""What a setter does to a body in one step: it carries, and holds back by friction.

The setter is z = 0. Live supports, blocks of the same powder that shrink with the body, stand on it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.physics.solid.points import Points, by_brick

Array = np.ndarray
SOFT = 2e-3  # of a cell: how deep the feet of a flat base sink in
STIFFEST = 30.0  # shear moduli per cell: never stiffer than that
GROUND = 1e-6  # the same, sideways: keeps a body without friction from floating away
SLIP = 0.02  # of the widest foot's slip: below it friction grows gently
NEAR = 0.1  # of a cell: feet so near the setter share the weight at first


class Support(NamedTuple):
    """A live support: a block on the setter, at green size [m]."""

    x: tuple[float, float]
    y: tuple[float, float]
    top: float


class Setter(NamedTuple):
    friction: float = 0.3
    supports: tuple[Support, ...] = ()


class Feet(NamedTuple):
    """Samples of the surface that may touch the setter."""

    points: Points
    area: Array  # float64 (p,) green [m2]


def ordered(feet: Feet) -> Feet:
    """The same feet, those of one brick after each other."""
    order = by_brick(feet.points)
    return Feet(Points(*(np.ascontiguousarray(each[order]) for each in feet.points)), feet.area[order])


class AssumedContact(NamedTuple):
    """What is taken for true while a step is solved once."""

    normal: Array  # float64 (p,): stiffness of the setter under each foot, 0 where it does not touch [N/m]
    side: Array  # float64 (p,): friction force over slip [N/m]


class Touch(NamedTuple):
    """What feet meet in a step."""

    ground: Array  # float64 (p,): height of setter or support at the end of the step [m]
    area: Array  # float64 (p,) [m2]
    stiffness: float  # of the setter [Pa/m]
    least: float  # of the setter, sideways [Pa/m]
    slip: float  # [m]
    friction: float


def ground(setter: Setter, place: Array, shrunk: Array, middle: Array) -> Array:
    """Height of what stands under places (p, 3) [m]; supports shrunk (3,) about the `middle` (2,)."""
    out = np.zeros(len(place))
    for block in setter.supports:
        x = (place[:, 0] - middle[0]) / shrunk[0] + middle[0]
        y = (place[:, 1] - middle[1]) / shrunk[1] + middle[1]
        over = (x >= block.x[0]) & (x <= block.x[1]) & (y >= block.y[0]) & (y <= block.y[1])
        out[over] = np.maximum(out[over], block.top * shrunk[2])
    return out


def first_press(touch: Touch, height: Array, weight: float, pitch: float) -> tuple[AssumedContact, Array]:
    """Feet next to the ground share the weight; also the pressure of each [Pa]."""
    gap = height - touch.ground
    touching = gap <= gap.min(initial=np.inf) + NEAR * pitch
    share = weight / max(touch.area[touching].sum(), 1e-30)
    pressure = np.where(touching, share, 0.0)
    return press(touch, pressure, np.zeros((len(gap), 2))), pressure


def press(touch: Touch, pressure: Array, slip: Array) -> AssumedContact:
    """Stiffness under feet that press so hard and slip so far (p, 2) [m]."""
    held = touch.friction * pressure / np.sqrt((slip**2).sum(axis=1) + touch.slip**2)
    near = touch.area * touch.least
    return AssumedContact(np.where(pressure > 0, touch.area * touch.stiffness, 0.0), touch.area * held + near)


def pressed(touch: Touch, height: Array) -> Array:
    """Pressure of feet at these heights [Pa]."""
    return np.asarray(np.maximum(-touch.stiffness * (height - touch.ground), 0.0))


def forces(touch: Touch, state: AssumedContact, height: Array, slip: Array) -> Array:
    """Force of the setter on the feet, float64 (p, 3) [N], with touching and friction as taken for true."""
    up = -state.normal * (height - touch.ground)
    return np.column_stack([-state.side[:, None] * slip, up])


def disagreement(
    touch: Touch, state: AssumedContact, height: Array, slip: Array, weight: float
) -> tuple[float, float]:
    """Share of the weight that touches or lifts against what was taken for true, and of friction."""
    pressure = pressed(touch, height)
    wrong = (pressure > 0) != (state.normal > 0)
    lift = float((np.abs(height - touch.ground) * touch.stiffness * touch.area)[wrong].sum())
    if touch.friction == 0:
        return lift / weight, 0.0
    size = np.sqrt((slip**2).sum(axis=1))
    rubbing = np.abs(press(touch, pressure, slip).side - state.side) * size
    return lift / weight, float(rubbing.sum()) / (touch.friction * weight)
