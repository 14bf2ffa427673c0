"""Pieces moved by less than half a drop, so that flat faces fall between drops and between layers."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy import ndarray

from sagger.goods.layout import Layout, Piece


def snapped(layout: Layout, pitch_mm: tuple[float, float], layer_mm: float) -> Layout:
    """The layout with each piece's lowest corner on the lattice of drops and layers.

    A face along an axis is then drawn where it lies, not up to half a drop off. Gaps between pieces change by
    less than a drop in x and y and a layer in z; `least_gap_mm`, `wall_gap_mm` and `height_mm` are lowered or
    raised by that much, so that they still hold.

    Parameters
    ----------
    layout : Layout
        As nested.
    pitch_mm : tuple of 2 float
        Spacing of drops along x and y [mm].
    layer_mm : float
        Layer height [mm].
    """
    lattice = np.array([*pitch_mm, layer_mm])
    pieces = [_moved(piece, layout.greens[piece.part].shape.vertices, lattice) for piece in layout.pieces]
    moves = [
        np.abs(new.placement - old.placement).max(axis=1)[:3]
        for new, old in zip(pieces, layout.pieces, strict=True)
    ]
    most = np.max(moves, axis=0, initial=0.0)
    return dataclasses.replace(
        layout,
        pieces=tuple(pieces),
        least_gap_mm=layout.least_gap_mm - 2 * float(np.linalg.norm(most)),
        wall_gap_mm=layout.wall_gap_mm - float(most.max(initial=0.0)),
        height_mm=max((_top(piece, layout) for piece in pieces), default=layout.height_mm),
    )


def _moved(piece: Piece, vertices: ndarray, lattice: ndarray) -> Piece:
    lowest = (vertices @ piece.placement[:3, :3].T).min(axis=0) + piece.placement[:3, 3]
    placement = piece.placement.copy()
    placement[:3, 3] += np.round(lowest / lattice) * lattice - lowest
    return dataclasses.replace(piece, placement=placement)


def _top(piece: Piece, layout: Layout) -> float:
    vertices = layout.greens[piece.part].shape.vertices
    return float((vertices @ piece.placement[2, :3]).max() + piece.placement[2, 3])
