"""Pieces moved by less than a layer, and by less than a drop if asked, so that copies come out alike."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.head import Head
from sagger.goods.layout import Layout, Piece
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.stations.layers.draw import lattice

_ROUNDING = 1e-9  # mm: a piece that stands at a wall is not past it
_NEARER = 1.5  # steps that two pieces come nearer along an axis: half a step, and a whole one at a wall


def spacing(choices: Choices, box: Box, head: Head, powder: Powder) -> Choices:
    """What the nest must know: seed and gap, the gap wider because pieces are settled afterwards.

    A piece moves by half a step of the lattice at most, at a wall by less than one, so two come nearer by one
    and a half steps along each axis. With that added to the gap they keep the one that was asked for.
    Everything else is left out, so that other choices do not have the box nested again.
    """
    asked, nesting = box.gap.value * 1e3 if choices.gap_mm is None else choices.gap_mm, choices.nesting
    steps = _steps(head, powder, choices)
    gap_z = None if nesting.gap_z_mm is None else nesting.gap_z_mm + _allowance(steps)
    below, above = (
        each + steps[1] if each else 0.0 for each in (nesting.empty_below_mm, nesting.empty_above_mm)
    )
    nesting = dataclasses.replace(nesting, gap_z_mm=gap_z, empty_below_mm=below, empty_above_mm=above)
    return Choices(gap_mm=asked + _allowance(steps), seed=choices.seed, nesting=nesting)


def settled(layout: Layout, head: Head, powder: Powder, choices: Choices) -> Layout:
    """The layout on the lattice of layers, and on that of drops if it was chosen.

    Copies of a part whose feet stand between two layers are all drawn alike, and their heights are off by
    half a layer at most; at any height it could be a whole one.
    """
    return snapped(layout, *_steps(head, powder, choices))


def _steps(head: Head, powder: Powder, choices: Choices) -> tuple[tuple[float, float], float]:
    """Steps of the lattice along x and y, 0 where any place will do, and along z [mm]."""
    pitch_mm, layer_mm = lattice(head, powder, choices)
    return pitch_mm if choices.snap else (0.0, 0.0), layer_mm


def snapped(layout: Layout, pitch_mm: tuple[float, float], layer_mm: float) -> Layout:
    """The layout with each piece's lowest corner on the lattice of drops and layers.

    A face along an axis is then drawn where it lies, not up to half a drop off. No piece comes nearer to
    wall, floor or top than it may: there it goes the other way, or stays where it is along that axis.
    `least_gap_mm` is lowered to what certainly holds, `gap_mm` by what `spacing` added to it.

    Parameters
    ----------
    layout : Layout
        As nested with `spacing`.
    pitch_mm : tuple of 2 float
        Spacing of drops along x and y [mm]; 0 leaves a piece where it is along that axis.
    layer_mm : float
        Layer height [mm].
    """
    steps = np.array([*pitch_mm, layer_mm])
    walls = _walls(layout.box)
    pieces = [_moved(piece, layout, steps, walls) for piece in layout.pieces]
    moves = np.array(
        [new.placement[:3, 3] - old.placement[:3, 3] for new, old in zip(pieces, layout.pieces, strict=True)]
    )
    nearer = np.minimum(np.ptp(moves, axis=0), _NEARER * steps)
    ends = [_ends(piece, layout) for piece in pieces]
    low, high = np.min([each[0] for each in ends], axis=0), np.max([each[1] for each in ends], axis=0)
    return dataclasses.replace(
        layout,
        pieces=tuple(pieces),
        gap_mm=max(0.0, layout.gap_mm - _allowance((pitch_mm, layer_mm))),
        gap_z_mm=None if layout.gap_z_mm is None else layout.gap_z_mm - _allowance((pitch_mm, layer_mm)),
        least_gap_mm=layout.least_gap_mm - float(np.linalg.norm(nearer)),
        wall_gap_mm=float(min(low.min(), (_size(layout.box) - high).min())),
        height_mm=float(high[2]),
    )


def _allowance(steps: tuple[tuple[float, float], float]) -> float:
    pitch_mm, layer_mm = steps
    return _NEARER * math.hypot(*pitch_mm, layer_mm)


def _walls(box: Box) -> tuple[ndarray, ndarray]:
    """Lowest and highest places that pieces may reach, float64 (3,) each [mm]."""
    left = np.array([box.wall_gap.value, box.wall_gap.value, box.floor_gap.value]) * 1e3
    return left - _ROUNDING, _size(box) - left + _ROUNDING


def _size(box: Box) -> ndarray:
    return np.array([box.length_x.value, box.length_y.value, box.length_z.value]) * 1e3


def _moved(piece: Piece, layout: Layout, steps: ndarray, walls: tuple[ndarray, ndarray]) -> Piece:
    low, high = _ends(piece, layout)
    held = steps > 0
    nearest = np.round(low / np.where(held, steps, 1.0))
    other = np.where(nearest * steps < low, nearest + 1, nearest - 1)
    move = np.zeros(3)
    for steps_up in (other, nearest):  # the nearest goes last, so it is taken if it may be
        tried = steps_up * steps - low
        fits = held & (low + tried >= walls[0]) & (high + tried <= walls[1])
        move = np.where(fits, tried, move)
    placement = piece.placement.copy()
    placement[:3, 3] += move
    return dataclasses.replace(piece, placement=placement)


def _ends(piece: Piece, layout: Layout) -> tuple[ndarray, ndarray]:
    """Lowest and highest place of a piece along each axis [mm]."""
    at = layout.greens[piece.part].shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
    return at.min(axis=0), at.max(axis=0)
