"""Chance of a piece in each orientation that it may lie in, before anything is nested."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger.goods.cell import Cell
from sagger.goods.green import Green
from sagger.goods.learned import Approved
from sagger.goods.order import Choices
from sagger.goods.sintered import Sintered
from sagger.goods.stack import DropRaster
from sagger.stations.promise import drawn_rows
from sagger.stations.promise.doubted import gauge_mm, lies, room
from sagger.stations.promise.lengths_doubt import Furnished
from sagger.stations.promise.sampled import draw, verdict
from sagger.stations.promise.source import Doubted


def by_turn(
    greens: tuple[Green, ...],
    raster: DropRaster,
    sintered: Sintered | None,
    cell: Cell,
    approved: Approved,
    choices: Choices,
) -> tuple[Green, ...]:
    """The parts, each with the chance of a piece to be good in every orientation that is allowed.

    Parameters
    ----------
    greens : tuple of Green
        Parts with factors and orientations.
    raster : DropRaster
        Drops and layers of the boxes to come.
    sintered : Sintered or None
        The furnace's forecast; it need not know the boxes. None for sand.
    cell, approved, choices
        As the promise takes them. Places are not known yet: sizes by place count as the scatter of the whole
        bed.

    Returns
    -------
    tuple of Green
        With `chances`; without for pieces that are held, of which nothing is promised.

    Source
    ------
    The promise's own joint draws; the same draws for all orientations, so that they are compared rightly.
    """
    known = sintered, cell, dataclasses.replace(approved, bed=None)
    return tuple(
        green if green.part.request.held else _judged(part, green, raster, known, choices)
        for part, green in enumerate(greens)
    )


def _judged(
    part: int,
    green: Green,
    raster: DropRaster,
    known: tuple[Sintered | None, Cell, Approved],
    choices: Choices,
) -> Green:
    sintered, cell, approved = known
    of = Furnished(green.factors, sintered, cell, approved, (), raster)
    asked = room(green)
    every = tuple(lies(turn, 1.0, (green, asked), of, choices) for turn in range(len(green.part.turns)))
    doubted = Doubted(part, asked, every, gauge_mm(of), drawn=drawn_rows.lines(green, asked))
    drawn = draw([doubted], sintered.load.runs if sintered else 1, choices.seed)
    judged = [verdict(doubted._replace(lying=(one,)), drawn, chance_only=True) for one in every]
    chances = np.array([float(one.chance.mean()) for one in judged])
    return dataclasses.replace(green, chances=chances)
