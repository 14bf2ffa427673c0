"""Sizes, distances and angles of a drawing as linear forms of how its faces move."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import forms
from sagger.geometry.surface.forms import LinearForm
from sagger.goods.drawing import Dimension
from sagger.stations.intake.face_points import LEAST_ARC, Feature, features
from sagger.stations.intake.tied import Tied

EACH, LEAST, MOST = "each", "least", "most"
PARALLEL, SQUARE = 0.9998, 0.02  # about 1 degree
NEAR = 0.02  # of a distance, and as many mm: faces so far from it are not those that it is between
DEGREES = 180 / np.pi
WHOLE_TURN = 2 * np.pi
LEAST_SQUARES, TWO_POINT = "least squares", "two-point"


class AskedRows(NamedTuple):
    """What a line asks of one feature."""

    rule: str
    operator: str
    form: LinearForm


def rows(size: Dimension, tied: Tied) -> list[AskedRows] | str:
    """Of each feature that a size is of, or why it is not evaluated."""
    on = features(size.faces, tied)
    if not on:
        return "its faces are not known"
    if size.kind in ("diameter", "radius"):
        return _diameters(size, on)
    pairs = _pairs(size, on, features(size.to, tied))
    if isinstance(pairs, str):
        return pairs
    if size.kind == "angle":
        return [_angle(size, *pair) for pair in pairs]
    operator = next((note for note in size.notes if note in CONTACT), LEAST_SQUARES)
    return [AskedRows(EACH, operator, _apart(*pair)) for pair in pairs]


def axis(of: Feature) -> forms.Cylinder:
    """Forms of a bore or pin."""
    return forms.cylinder(of.spread, of.at, of.along)


def _diameters(size: Dimension, on: list[Feature]) -> list[AskedRows] | str:
    share = 1.0 if size.kind == "diameter" else 0.5
    round_ones = [one for one in on if one.kind == "cylinder" and one.turn > LEAST_ARC]
    if not round_ones:
        return "diameters are evaluated of bores and pins only"
    asked = next((note for note in size.notes if note in OPERATORS), TWO_POINT)
    made = []
    for one in round_ones:
        own = axis(one)
        rule, diameter, operator = EACH, own.diameter, LEAST_SQUARES
        if asked != LEAST_SQUARES and one.turn == WHOLE_TURN and size.kind == "diameter":
            rule, diameter, operator = OPERATORS[asked], own.local, asked
        made.append(AskedRows(rule, operator, forms.joined([(share, diameter)])))
    return made


OPERATORS = {  # which of the local sizes must lie between the limits
    TWO_POINT: EACH,
    LEAST_SQUARES: EACH,
    "inscribed": LEAST,
    "circumscribed": MOST,
    "envelope": EACH,
}


CONTACT = ("inscribed", "circumscribed", "envelope")  # taken by what touches the faces


def _pairs(size: Dimension, on: list[Feature], to: list[Feature]) -> list[tuple[Feature, Feature]] | str:
    """The features at both ends of a distance or angle."""
    if not to:
        if len(on) != 2:
            return "the face at its other end is not named"
        on, to = on[:1], on[1:]
    pairs = []
    for one in on:
        near = [(float(np.linalg.norm(one.at - other.at)), at) for at, other in enumerate(to)
                if _fits(size, one, other)]  # fmt: skip
        if not near:
            return "its faces do not lie as it says"
        pairs.append((one, to[min(near)[1]]))
    return pairs


def _fits(size: Dimension, one: Feature, other: Feature) -> bool:
    if size.kind == "angle":
        return (one.kind, other.kind) == ("plane", "plane")
    apart = _from_to(one, other)
    if apart is None or size.nominal is None:
        return apart is not None
    return abs(apart[1] - size.nominal) <= NEAR * (1 + size.nominal)


def _from_to(one: Feature, other: Feature) -> tuple[ndarray, float] | None:
    """Direction from one feature to the other, and how far it is [mm]; None if they have no distance."""
    if {one.kind, other.kind} - {"plane", "cylinder"}:
        return None
    flat = [each for each in (one, other) if each.kind == "plane"]
    apart, cosine = other.at - one.at, abs(float(one.along @ other.along))
    if (len(flat) == 1 and cosine < SQUARE) or (len(flat) == 2 and cosine > PARALLEL):
        far = float(apart @ flat[0].along)
        return flat[0].along * np.sign(far or 1.0), abs(far)
    if not flat and cosine > PARALLEL:
        aside = apart - (apart @ one.along) * one.along
        far = float(np.linalg.norm(aside))
        return (aside / far, far) if far else None
    return None


def _apart(one: Feature, other: Feature) -> LinearForm:
    found = _from_to(one, other)
    way = found[0] if found else one.along
    return forms.joined([(1.0, shift(other, way)), (-1.0, shift(one, way))])


def shift(of: Feature, way: ndarray) -> LinearForm:
    """One row: how far a plane, or the middle of an axis, goes along a direction."""
    if of.kind == "plane":
        return forms.joined([(float(of.along @ way), forms.shifted(of.spread))])
    own = axis(of)
    across = np.tile(own.across @ way / 2, 2)[None]
    return own.ends._replace(weights=across @ own.ends.weights)


def _angle(size: Dimension, one: Feature, other: Feature) -> AskedRows:
    """Opens as the normals do, or as their supplement."""
    between = DEGREES * float(np.arccos(np.clip(one.along @ other.along, -1.0, 1.0)))
    nominal = between if size.nominal is None else size.nominal
    sign = 1.0 if abs(nominal - between) <= abs(nominal - (180 - between)) else -1.0
    form = forms.joined([(sign * DEGREES, forms.angle_between(one.spread, other.spread))])
    return AskedRows(EACH, LEAST_SQUARES, form)
