"""A source of doubt: on which level it is drawn, and by how much it moves each size."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.special import ndtri

from sagger.statistics.lines import AskedFeatures

# Levels, from what is the same for every piece down to what is each piece's own.
SHOP, LOT, LOAD, PIECE = "shop", "lot", "load", "piece"


def normal(uniform: ndarray) -> ndarray:
    """Draws of a normal distribution of variance 1."""
    return np.asarray(ndtri(uniform))


def even(uniform: ndarray) -> ndarray:
    """Draws of a rectangular distribution of variance 1."""
    return np.asarray((2 * uniform - 1) * math.sqrt(3))


def of_two(share: float) -> Callable[[ndarray], ndarray]:
    """Draws of variance 1 that take two values, the upper one with this share."""
    width = math.sqrt(share * (1 - share))

    def drawn(uniform: ndarray) -> ndarray:
        return np.asarray(((uniform < share) - share) / width)

    return drawn


class DoubtSource(NamedTuple):
    """One source of doubt of the sizes of a part."""

    name: str  # as people read it; several sources may share it
    key: str  # of its draw: sources of one key move together, in all parts
    level: str
    lever: ndarray  # float64 (sizes,): how far one standard deviation of the draw moves each size [mm]
    drawn: Callable[[ndarray], ndarray] = normal  # uniform draws to draws of variance 1
    worlds: ndarray | None = (
        None  # float64 (worlds, sizes): moves drawn already, in place of lever times draw
    )
    moved: Callable[[ndarray], ndarray] | None = (
        None  # uniform draws to moves, float64 (draws, sizes), in place of lever times draw
    )


def padded(source: DoubtSource, before: int, after: int) -> DoubtSource:
    """The source of more sizes, of which those before and after it do not move."""

    def wider(rows: ndarray) -> ndarray:
        return np.pad(rows, [(0, 0)] * (rows.ndim - 1) + [(before, after)])

    own = source.moved
    return source._replace(
        lever=wider(source.lever),
        worlds=None if source.worlds is None else wider(source.worlds),
        moved=None if own is None else lambda uniform: wider(own(uniform)),
    )


class Room(NamedTuple):
    """Sizes that are asked of a part; arrays float64 (sizes,) [mm]."""

    names: tuple[str, ...]
    axes: ndarray  # int64: of the part's axis
    nominal: ndarray
    lower: ndarray
    upper: ndarray


class Lying(NamedTuple):
    """The pieces of a part that lie in one orientation: what is expected of their sizes, and its doubt.

    Behind the overall sizes come the rows of the drawing's lines, if there are any.
    """

    turn: int
    share: float  # of the part's pieces
    expected: ndarray  # float64 (sizes,) [mm]
    stretched: ndarray  # float64 (sizes,): what of it the size as a whole is off nominal by [mm]
    sources: tuple[DoubtSource, ...]
    bow: float = 0.0  # how deep it is foretold to sag at most [mm]
    behind: int = 0  # rows of the drawing's lines, after the overall sizes
    sagged: ndarray | None = None  # float64 (sizes,): what of `expected` is sag by the beam rule [mm]


class DrawnLines(NamedTuple):
    """Lines of a drawing behind the overall sizes: features in order, overall sizes first."""

    features: AskedFeatures
    numbers: tuple[int, ...]  # of the lines in the drawing, from 1
    gauged: ndarray  # float64 (features,): of the gauge's noise; 0 for angles


class Doubted(NamedTuple):
    """A part with all that its sizes depend on."""

    part: int
    room: Room
    lying: tuple[Lying, ...]
    gauge: float  # standard uncertainty of a reading at the bench [mm]
    others: tuple[Lying, ...] = ()  # all its pieces in another orientation, where sizes lie along other axes
    drawn: DrawnLines | None = None  # None: the overall sizes are all that is asked for
