"""Pieces moved by less than a drop, so that flat faces fall between drops and between layers."""

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
    """What the nest must know: seed and gap, the gap wider where pieces are snapped afterwards.

    A piece moves by half a step of the lattice at most, at a wall by less than one, so two come nearer by one
    and a half steps along each axis. With that added to the gap they keep the one that was asked for.
    Everything else is left out, so that other choices do not have the box nested again.
    """
    gap_mm = choices.gap_mm
    if choices.snap:
        asked = box.gap.value * 1e3 if gap_mm is None else gap_mm
        gap_mm = asked + _allowance(*lattice(head, powder, choices))
    return Choices(gap_mm=gap_mm, seed=choices.seed)


def settled(layout: Layout, head: Head, powder: Powder, choices: Choices) -> Layout:
    """The layout on the lattice of drops and layers that head, powder and choices make."""
    return snapped(layout, *lattice(head, powder, choices))


def snapped(layout: Layout, pitch_mm: tuple[float, float], layer_mm: float) -> Layout:
    """The layout with each piece's lowest corner on the lattice of drops and layers.

    A face along an axis is then drawn where it lies, not up to half a drop off. No piece comes nearer to
    wall, floor or top than it may: there it goes the other way, or stays where it is along that axis.
    `least_gap_mm` and `wall_gap_mm` are lowered to what certainly holds, `gap_mm` by what `spacing` added.

    Parameters
    ----------
    layout : Layout
        As nested with `spacing`.
    pitch_mm : tuple of 2 float
        Spacing of drops along x and y [mm].
    layer_mm : float
        Layer height [mm].
    """
    steps = np.array([*pitch_mm, layer_mm])
    walls = _walls(layout.box)
    pieces = [
        _moved(piece, layout.greens[piece.part].shape.vertices, steps, walls) for piece in layout.pieces
    ]
    moves = np.array(
        [new.placement[:3, 3] - old.placement[:3, 3] for new, old in zip(pieces, layout.pieces, strict=True)]
    )
    nearer = np.minimum(np.ptp(moves, axis=0), _NEARER * steps)
    return dataclasses.replace(
        layout,
        pieces=tuple(pieces),
        gap_mm=max(0.0, layout.gap_mm - _allowance(pitch_mm, layer_mm)),
        least_gap_mm=layout.least_gap_mm - float(np.linalg.norm(nearer)),
        wall_gap_mm=layout.wall_gap_mm - float(np.abs(moves).max()),
        height_mm=max((_top(piece, layout) for piece in pieces), default=layout.height_mm),
    )


def _allowance(pitch_mm: tuple[float, float], layer_mm: float) -> float:
    return _NEARER * math.hypot(*pitch_mm, layer_mm)


def _walls(box: Box) -> tuple[ndarray, ndarray]:
    """Lowest and highest places that pieces may reach, float64 (3,) each [mm]."""
    size = np.array([box.length_x.value, box.length_y.value, box.length_z.value]) * 1e3
    left = np.array([box.wall_gap.value, box.wall_gap.value, box.floor_gap.value]) * 1e3
    return left - _ROUNDING, size - left + _ROUNDING


def _moved(piece: Piece, vertices: ndarray, steps: ndarray, walls: tuple[ndarray, ndarray]) -> Piece:
    at = vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
    low, high = at.min(axis=0), at.max(axis=0)
    nearest = np.round(low / steps)
    other = np.where(nearest * steps < low, nearest + 1, nearest - 1)
    move = np.zeros(3)
    for steps_up in (other, nearest):  # the nearest goes last, so it is taken if it may be
        tried = steps_up * steps - low
        fits = (low + tried >= walls[0]) & (high + tried <= walls[1])
        move = np.where(fits, tried, move)
    placement = piece.placement.copy()
    placement[:3, 3] += move
    return dataclasses.replace(piece, placement=placement)


def _top(piece: Piece, layout: Layout) -> float:
    vertices = layout.greens[piece.part].shape.vertices
    return float((vertices @ piece.placement[2, :3]).max() + piece.placement[2, 3])
