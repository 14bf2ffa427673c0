"""Stairs that layers, or rows of drops, leave on a slope. All SI."""

from __future__ import annotations

from math import cos, pi, sqrt
from typing import NamedTuple

from sagger.errors import LawError

MIDDLE = 0.5  # of its height: where a layer is cut


class Stairs(NamedTuple):
    """Of a profile at right angles to the steps; all [m]."""

    depth: float  # across the face, from crest to root; Rz of the stairs alone
    ra: float  # mean deviation from the mean line
    rq: float  # root mean square deviation from it
    bias: float  # of the mean line from the face, outward
    crest: float  # of the crests from the face, outward: there a plate, a gauge or a plug touches


def stairs(step: float, slope: float, cut: float = MIDDLE) -> Stairs:
    """What steps of one height leave on a plane.

    Parameters
    ----------
    step : float
        Height of a layer [m]; of drops their pitch, with the slope taken from across them.
    slope : float
        Of the plane from the bed, above 0 and at most a right angle [rad].
    cut : float
        Share of its height at which a layer's outline is taken, for a face that looks up: 0 at its floor.

    Raises
    ------
    LawError
        If the plane lies flat: it has no stairs, it lies at one layer.

    Source
    ------
    Geometry of a saw-tooth across the face: depth h cos, mean deviation a quarter of it, root mean square
    depth / sqrt(12). Roughness of the powder comes on top of it.
    """
    if step <= 0 or not 0 < slope <= pi / 2 + 1e-12 or not 0 <= cut <= 1:
        raise LawError(f"a step, a slope up to a right angle and a share were expected, got {step:g} m, "
                       f"{slope:g} rad, {cut:g}")  # fmt: skip
    depth = step * max(cos(slope), 0.0)
    bias = depth * (MIDDLE - cut)
    return Stairs(depth, depth / 4, depth / sqrt(12), bias, bias + depth / 2)


def crossed(one: Stairs, other: Stairs) -> Stairs:
    """Of two sets of steps on one face that do not keep pace, such as layers and rows of drops.

    Source
    ------
    Sum of two independent rectangular deviations of depths a >= b: mean magnitude a / 4 + b^2 / (12 a).
    """
    more, less = max(one.depth, other.depth), min(one.depth, other.depth)
    ra = more / 4 + less**2 / (12 * more) if more > 0 else 0.0
    rq = sqrt(one.rq**2 + other.rq**2)
    return Stairs(more + less, ra, rq, one.bias + other.bias, one.crest + other.crest)
