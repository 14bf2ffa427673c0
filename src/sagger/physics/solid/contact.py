"""A body that meets itself: samples of its surface bear on the surface opposite, without friction. SI.

What bears couples nodes that share no brick. It is kept beside the matrix: rows that say how each gap closes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sagger.physics.solid import brick
from sagger.physics.solid.points import Points
from sagger.physics.solid.skin import SamplePlaces, Skin, chosen, lie, opposite, slopes

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Array = np.ndarray
STIFFER = 5.0  # than the setter, where a body bears on itself: what bears is narrower than the base
WRONG = 0.02  # of the force between the surfaces that may be taken for bearing or not against the gap
LOOK = 2.0  # gaps so many times as wide as may close in a step are looked for: then not in every step
LEAST = 1e-4  # of the weight: less force is not looked at


class Near(NamedTuple):
    """Gaps that may close in a step."""

    sample: Array  # int64 (k,): which sample of the skin lies below the gap
    rows: csr_matrix  # (k, 3 n): by how much each gap opens as nodes move; None where there is no gap
    gap: Array  # float64 (k,) after the guess [m]
    spring: Array  # float64 (k,) [N/m]


NONE = Near(np.zeros(0, np.int64), None, np.zeros(0), np.zeros(0))


def near(
    skin: Skin, nodes: Array, green: SamplePlaces, places: tuple[Array, Array], reach: float, pressing: float
) -> tuple[Near, float]:
    """Gaps that may close, and how wide all gaps are at least [m]; much wider ones are not looked for.

    Parameters
    ----------
    skin : Skin
    nodes : int32 (m, 8)
    green : Lie
        Where the samples lay when green.
    places : two float64 (n, 3)
        Of the nodes now, and where the step is guessed to bring them [m].
    reach : float
        By how much gaps may close in the step [m].
    pressing : float
        Stiffness of the surface where it bears, with its green area [Pa/m].
    """
    now = lie(skin, nodes, places[0])
    pairs = opposite(green, now, LOOK * reach, skin.spacing)
    if len(pairs):
        pairs = pairs[~_joined(nodes, skin.points.brick[pairs])]
    i, j = pairs.T
    open_ = ((now.spot[i] - now.spot[j]) * now.outward[j]).sum(axis=1)
    clear = float(open_.min(initial=LOOK * reach))
    pairs = pairs[open_ < reach]
    if not len(pairs):
        return NONE, clear
    one, other = chosen(skin, pairs[:, 0]), chosen(skin, pairs[:, 1])
    above, below = lie(one, nodes, places[1]), lie(other, nodes, places[1])
    gap = ((above.spot - below.spot) * below.outward).sum(axis=1)
    foot = _beneath(other.points, nodes, places[1], above.spot - below.spot - gap[:, None] * below.outward)
    rows = _rows((one.points, foot), below, nodes, len(places[0]))
    return Near(pairs[:, 1], rows, gap, other.area * pressing / 2), clear


def _joined(nodes: Array, bricks: Array) -> Array:
    """Whether two bricks (k, 2) are one, neighbours, or have a neighbour in common: bool (k,)."""
    from scipy import sparse

    size = nodes.size
    starts = np.arange(0, size + 1, 8)
    has = sparse.csr_matrix(
        (np.ones(size, np.float32), nodes.ravel(), starts), shape=(len(nodes), nodes.max() + 1)
    )
    around = (has[bricks[:, 0]] @ has.T) @ has
    return np.asarray(around.multiply(has[bricks[:, 1]]).sum(axis=1)).ravel() > 0


def _beneath(points: Points, nodes: Array, place: Array, aside: Array) -> Points:
    """Points moved along their surface by `aside` (k, 3) [m], carried by the same bricks."""
    turned = np.linalg.inv(slopes(points, nodes, place))
    local = points.weights @ brick.SIGNS + np.einsum("kij,kj->ki", turned, aside)
    return Points(points.brick, brick.weights(local))


def _rows(points: tuple[Points, Points], below: SamplePlaces, nodes: Array, count: int) -> csr_matrix:
    from scipy import sparse

    k = len(below.spot)
    weights = np.concatenate([points[0].weights, -points[1].weights], axis=1)
    at = np.concatenate([nodes[points[0].brick], nodes[points[1].brick]], axis=1).astype(np.int64)
    values = weights[:, :, None] * below.outward[:, None, :]
    columns = 3 * at[:, :, None] + np.arange(3)
    starts = np.arange(0, 48 * k + 1, 48)
    return sparse.csr_matrix((values.ravel(), columns.ravel(), starts), shape=(k, 3 * count))


def first(near: Near, borne: Array) -> Array:
    """What is taken to bear at first: what did before, and what the guess lets overlap."""
    return np.asarray((near.gap < 0) | (borne[near.sample] > 0)) if len(near.gap) else near.gap < 0


def gaps(near: Near, more: Array) -> Array:
    """Gaps after nodes have moved by `more` (n, 3) beyond the guess [m]."""
    return near.gap if not len(near.gap) else np.asarray(near.gap + near.rows @ more.ravel())


def forces(near: Near, bears: Array, more: Array) -> Array | float:
    """Force on the nodes (n, 3) of what is taken to bear [N]; the same up as down."""
    if not bears.any():
        return 0.0
    force = np.where(bears, -near.spring * gaps(near, more), 0.0)
    return np.asarray(near.rows.T @ force).reshape(more.shape)


def bonds(near: Near, bears: Array) -> csr_matrix | None:
    """Rows of what bears, times the roots of their springs; None for none."""
    if not bears.any():
        return None
    from scipy import sparse

    return sparse.diags(np.sqrt(near.spring[bears])) @ near.rows[bears]


def agree(near: Near, bears: Array, gap: Array, weight: float) -> bool:
    """Whether what was taken to bear does, but for a fiftieth of the force."""
    force = near.spring * np.abs(gap)
    wrong = force[bears != (gap < 0)].sum()
    return bool(wrong <= WRONG * force[gap < 0].sum() + LEAST * weight)


def borne(near: Near, gap: Array, count: int) -> Array:
    """Force that each of `count` samples bears [N]."""
    out = np.zeros(count)
    out[near.sample] = near.spring * np.maximum(-gap, 0.0)
    return out
