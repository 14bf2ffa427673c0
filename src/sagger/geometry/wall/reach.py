"""Thin walls of a part and how far they stand out from what holds them [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy import ndimage

from sagger.geometry.wall import distance
from sagger.geometry.wall.cavities import CubeGrid
from sagger.geometry.wall.thickness import Across
from sagger.geometry.wall.ways import CHAMFER, TOUCH, steps

FACING = 0.97  # within 14 degrees: a wall of one thickness
SPECK_SHARE = 0.1  # of a wall's own surface that may be thinner: a speck does not carry the whole reach
LEAST_SHARE = 0.05  # of the limit squared: smaller spots are slips of the mesh


class StandingWall(NamedTuple):
    """A wall that stands out from the body of the part."""

    thickness_mm: float  # where it is thinnest, the thinnest tenth of its surface left out
    reach_mm: float  # from the body to its farthest place, through the wall; known to a cell and 6 %
    at_mm: ndarray  # float64 (3,): that farthest place


def walls(grid: CubeGrid, inward: Across, thin_mm: float) -> list[StandingWall]:
    """Walls thinner than `thin_mm` that stand out by more than that, farthest for their thickness first.

    Parameters
    ----------
    grid : Grid
        The part in cubes.
    inward : Across
        Wall thickness at points of the surface.
    thin_mm : float
        Whatever a ball of this diameter fits into holds the rest. A part without any such place is taken as
        held at its middle.

    Source
    ------
    Opening of the solid by a ball. A wall held at both ends counts as two that meet in the middle, which
    asks more of it than it must bear: a beam held at both ends bears 3/2 of that.
    """
    if (_thinnest(inward, np.ones(len(inward.distance), bool), thin_mm) or thin_mm) >= thin_mm:
        return []
    grid = _cut(grid)
    solid = np.pad(grid.solid, 1)
    radius = thin_mm / 2 / grid.pitch_mm
    inner = distance.squared(~solid) >= radius**2
    if not inner.any():
        return _whole(grid, inward, thin_mm)
    body = solid & (distance.squared(inner) <= (radius + 1) ** 2)
    labels, _ = ndimage.label(solid & ~body, TOUCH)
    standing = []
    for label, place in enumerate(ndimage.find_objects(labels), start=1):
        window = tuple(slice(max(0, span.start - 1), span.stop + 1) for span in place)
        wall = _wall(grid, inward, thin_mm, _Spot(labels[window] == label, body[window], window))
        if wall is not None:
            standing.append(wall)
    return sorted(standing, key=lambda wall: -wall.reach_mm / wall.thickness_mm)


def _cut(grid: CubeGrid) -> CubeGrid:
    """The part alone, without the air around it."""
    spans = [np.flatnonzero(grid.solid.any(axis=axes)) for axes in ((1, 2), (0, 2), (0, 1))]
    if not len(spans[0]):
        return grid
    low = np.array([span[0] for span in spans])
    window = tuple(slice(span[0], span[-1] + 1) for span in spans)
    return CubeGrid(grid.solid[window], grid.low + grid.pitch_mm * low, grid.pitch_mm)


class _Spot(NamedTuple):
    """One place that a ball does not fill, cut out of the padded grid with a cell around it."""

    own: ndarray  # bool
    body: ndarray  # bool: what holds the rest
    window: tuple[slice, ...]


def _wall(grid: CubeGrid, inward: Across, thin_mm: float, spot: _Spot) -> StandingWall | None:
    own = spot.own
    corner = np.array([span.start for span in spot.window]) - 1  # of the pad
    if max(own.shape) * grid.pitch_mm <= thin_mm:  # an edge or a corner that the ball does not fill
        return None
    roots = spot.body & ndimage.binary_dilation(own, TOUCH)
    way = steps(own, roots)
    far = np.unravel_index(int(np.argmax(way)), way.shape)
    reach = float(way[far]) / CHAMFER * grid.pitch_mm
    if reach <= thin_mm:
        return None
    cells = np.rint(
        (inward.points - inward.normals * inward.distance[:, None] / 2 - grid.low) / grid.pitch_mm
    )
    cells = cells.astype(int) - corner
    within = np.all((cells >= 0) & (cells < own.shape), axis=1)
    within[within] = own[tuple(cells[within].T)]
    thickness = _carrying(inward, within, thin_mm)
    at = grid.low + grid.pitch_mm * (np.array(far) + corner)
    return None if thickness is None else StandingWall(thickness, reach, at)


def _whole(grid: CubeGrid, inward: Across, thin_mm: float) -> list[StandingWall]:
    """A part that is thin all over, held at its middle."""
    low, high = inward.points.min(axis=0), inward.points.max(axis=0)
    reach = float((high - low).max()) / 2
    thickness = _carrying(inward, np.ones(len(inward.distance), bool), thin_mm)
    if thickness is None or reach <= thin_mm:
        return []
    return [StandingWall(thickness, reach, np.asarray((low + high) / 2))]


def _carrying(inward: Across, chosen: ndarray, thin_mm: float) -> float | None:
    """Thickness that carries a wall: what all but a small share of its surface reaches; None for a speck."""
    rows = np.flatnonzero(chosen & (inward.facing > FACING))
    rows = rows[np.argsort(inward.distance[rows], kind="stable")]
    covered = np.cumsum(inward.areas[rows])
    if not len(rows) or covered[-1] < LEAST_SHARE * thin_mm**2:
        return None
    asked = max(SPECK_SHARE * covered[-1], LEAST_SHARE * thin_mm**2)
    return float(inward.distance[rows[int(np.searchsorted(covered, asked))]])


def _thinnest(inward: Across, chosen: ndarray, thin_mm: float) -> float | None:
    """Least thickness of the chosen points, once specks are left out."""
    rows = np.flatnonzero(chosen & (inward.facing > FACING))
    rows = rows[np.argsort(inward.distance[rows], kind="stable")]
    first = int(np.searchsorted(np.cumsum(inward.areas[rows]), LEAST_SHARE * thin_mm**2))
    return float(inward.distance[rows[first]]) if first < len(rows) else None
