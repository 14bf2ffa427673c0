"""A body ready to be fired: its bricks on all levels, and where its points are."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from sagger.errors import LawError
from sagger.goods.cells import Cells
from sagger.physics.solid.element import cofactors, derivatives, jacobian
from sagger.physics.solid.kernel import prange, shared
from sagger.physics.solid.levels import levels
from sagger.physics.solid.points import Points, located
from sagger.physics.solid.stiffness import Body
from sagger.physics.solid.topology import Pieces, pieces

Array = np.ndarray


class Built(NamedTuple):
    """A body at rest."""

    body: Body
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
    found = pieces(cells)
    if not len(found.share):
        raise LawError("no cell holds material; choose finer cells, or look at the part's surface")
    whole = Body(
        nodes=np.empty((0, 8), np.int32),
        points=found.points,
        share=found.share,
        levels=levels(found.places, found.links),
    )
    whole = whole._replace(nodes=whole.levels[0].nodes)
    return Built(whole, found, cells.pitch_mm * 1e-3, np.array(cells.origin_mm) * 1e-3)


def volumes(body: Body, place: Array) -> tuple[Array, Array]:
    """Material in each brick [m3], and the least over the largest of its eight Jacobians [-]."""
    volume, even = np.empty(len(body.nodes)), np.empty(len(body.nodes))
    _volumes(body.nodes, body.points, body.share, place, volume, even)
    return volume, even


@shared
def _volumes(nodes: Any, points: Any, share: Any, place: Any, volume: Any, even: Any) -> None:
    for e in prange(nodes.shape[0]):
        corners, local = np.empty((8, 3)), np.empty((8, 3))
        for a in range(8):
            for i in range(3):
                corners[a, i] = place[nodes[e, a], i]
        total, least, most = 0.0, np.inf, -np.inf
        for q in range(8):
            derivatives(points[e, q, 0], points[e, q, 1], points[e, q, 2], local)
            _, det = cofactors(jacobian(local, corners))
            total += det
            least, most = min(least, det), max(most, det)
        volume[e] = total * share[e]
        even[e] = least / most


def spread_weight(body: Body, mass: Array, count: int) -> Array:
    """Masses of bricks on their nodes, float64 (count,): each point carries an eighth."""
    from sagger.physics.solid.brick import weights

    parts = weights(body.points).mean(axis=1) * mass[:, None]
    return sum(
        (np.bincount(body.nodes[:, a], parts[:, a], minlength=count) for a in range(8)), np.zeros(count)
    )


@shared
def mean_gradients(nodes: Any, points: Any, share: Any, place: Any, moved: Any) -> Any:
    """Mean over each brick's material of d u_i / d x_j, float64 (m, 3, 3)."""
    out = np.zeros((nodes.shape[0], 3, 3))
    for e in prange(nodes.shape[0]):
        corners, local = np.empty((8, 3)), np.empty((8, 3))
        total = 0.0
        for a in range(8):
            for i in range(3):
                corners[a, i] = place[nodes[e, a], i]
        for q in range(8):
            derivatives(points[e, q, 0], points[e, q, 1], points[e, q, 2], local)
            c, det = cofactors(jacobian(local, corners))
            total += det
            for a in range(8):
                for j in range(3):
                    slope = c[j] * local[a, 0] + c[3 + j] * local[a, 1] + c[6 + j] * local[a, 2]
                    for i in range(3):
                        out[e, i, j] += slope * moved[nodes[e, a], i]
        for i in range(3):
            for j in range(3):
                out[e, i, j] /= total
    return out
