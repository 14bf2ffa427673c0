"""A body ready to be fired: its bricks on all levels, and where its points are."""

from __future__ import annotations

from math import acos, cos, sqrt
from typing import NamedTuple

import numpy as np

from sagger.compiled import fast, fast_parallel, prange
from sagger.errors import LawError
from sagger.goods.cells import Cells
from sagger.physics.solid import strip
from sagger.physics.solid.brick import SIGNS
from sagger.physics.solid.levels import levels
from sagger.physics.solid.points import Points, located
from sagger.physics.solid.stiffness import FineBody, StepModuli
from sagger.physics.solid.topology import Pieces, pieces

Array = np.ndarray
_Three = tuple[Array, Array, Array]
PARTS = 64  # in which bricks are dealt to threads


class Built(NamedTuple):
    """A body at rest."""

    body: FineBody
    pieces: Pieces
    pitch: float  # [m]
    origin: Array  # float64 (3,) [m]

    @property
    def place(self) -> Array:
        """Nodes of the grid, float64 (n, 3) [m]."""
        return np.asarray(self.origin + self.body.levels[0].lattice * self.pitch)

    def points(self, place: Array, inward: Array | None = None) -> Points:
        """Points (p, 3) [m] of the body as it lies in the grid."""
        return located(self.pieces, (np.asarray(place, float) - self.origin) / self.pitch, inward)


def build(cells: Cells) -> Built:
    """The bricks of a body cut into cells.

    Raises
    ------
    LawError
        If no cell holds material.
    """
    material = pieces(cells)
    if not len(material.share):
        raise LawError("no cell holds material; choose finer cells, or look at the part's surface")
    whole = FineBody(
        nodes=np.empty((0, 8), np.int32),
        points=material.points,
        share=material.share,
        levels=levels(material.places, material.links),
    )
    whole = whole._replace(nodes=whole.levels[0].nodes)
    return Built(whole, material, cells.pitch_mm * 1e-3, np.array(cells.origin_mm) * 1e-3)


def volumes(body: FineBody, place: Array) -> tuple[Array, Array]:
    """Material in each brick [m3], and the least over the largest of its eight Jacobians [-]."""
    volume, even = np.empty(len(body.nodes)), np.empty(len(body.nodes))
    _volumes(body.nodes, body.points, body.share, place, volume, even)
    return volume, even


@fast_parallel
def _volumes(nodes: Array, points: Array, share: Array, place: Array, volume: Array, even: Array) -> None:
    for part in prange(PARTS):
        s = strip.scratch()
        for e in range(len(nodes) * part // PARTS, len(nodes) * (part + 1) // PARTS):
            strip.standing(nodes[e], place, s, strip.CORNERS)
            strip.jacobians(points[e], share[e], s)
            total, least, most = 0.0, np.inf, -np.inf
            for q in range(8):
                weight = s[strip.WEIGHT + q]
                total += weight
                least, most = min(least, weight), max(most, weight)
            volume[e], even[e] = total, least / most


def spread_weight(body: FineBody, mass: Array, count: int) -> Array:
    """Masses of bricks on their nodes, float64 (count,): each point carries an eighth."""
    out = np.zeros(count)
    _spread_weight(body.nodes, body.points, mass, out)
    return out


@fast
def _spread_weight(nodes: Array, points: Array, mass: Array, out: Array) -> None:
    for e in range(mass.size):
        for a in range(8):
            share = 0.0
            for q in range(8):
                x, y, z = points[e, q, 0], points[e, q, 1], points[e, q, 2]
                share += (1 + SIGNS[a, 0] * x) * (1 + SIGNS[a, 1] * y) * (1 + SIGNS[a, 2] * z)
            out[nodes[e, a]] += mass[e] * share / 64


def tensions(body: FineBody, place: Array, moved: Array, moduli: StepModuli, free: Array) -> Array:
    """Largest principal stress in the mean of each brick, float64 (m,) [Pa].

    Parameters
    ----------
    place : float64 (n, 3)
        Of the nodes, in the middle of the step [m].
    moved : float64 (n, 3)
        Displacement in the step [m].
    free : float64 (m, 3)
        Strain along x, y, z that meets no resistance.
    """
    out = np.empty(len(body.nodes))
    _tensions((body.nodes, body.points, body.share), place, moved, (moduli.shear, moduli.bulk, free), out)
    return out


@fast_parallel
def _tensions(parts: _Three, place: Array, moved: Array, law: _Three, out: Array) -> None:
    for part in prange(PARTS):
        s = strip.scratch()
        for e in range(len(out) * part // PARTS, len(out) * (part + 1) // PARTS):
            strip.standing(parts[0][e], place, s, strip.CORNERS)
            volume = strip.slopes(parts[1][e], parts[2][e], s)
            _mean_slope(parts[0][e], moved, s)
            out[e] = _tension(s, volume, law[0][e], law[1][e], law[2][e])


@fast
def _mean_slope(nodes: Array, moved: Array, s: Array) -> None:
    """Volume times the mean of d u_i / d x_j, at 3 i + j of the strip's corners."""
    for i in range(3):
        for j in range(3):
            total = 0.0
            for a in range(8):
                total += s[strip.MEAN + 8 * j + a] * moved[nodes[a], i]
            s[strip.CORNERS + 3 * i + j] = total


@fast
def _tension(s: Array, volume: float, shear: float, bulk: float, free: Array) -> float:
    """Largest eigenvalue of the stress: roots of its characteristic polynomial by the cosine of a third."""
    g = strip.CORNERS
    x, y, z = s[g] / volume - free[0], s[g + 4] / volume - free[1], s[g + 8] / volume - free[2]
    yz, xz, xy = (
        (s[g + 5] + s[g + 7]) / volume / 2,
        (s[g + 2] + s[g + 6]) / volume / 2,
        (s[g + 1] + s[g + 3]) / volume / 2,
    )
    swell = x + y + z
    x, y, z = x - swell / 3, y - swell / 3, z - swell / 3
    size = sqrt((x * x + y * y + z * z + 2 * (yz * yz + xz * xz + xy * xy)) / 6)
    if size == 0:
        return float(bulk * swell)
    third = x * (y * z - yz * yz) - xy * (xy * z - yz * xz) + xz * (xy * yz - y * xz)
    angle = acos(min(1.0, max(-1.0, third / (2 * size**3)))) / 3
    return float(2 * shear * 2 * size * cos(angle) + bulk * swell)
