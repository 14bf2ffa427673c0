"""A body cut into the cells of a regular grid: full ones, and how the surface cuts the others."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good


@good
class Cells:
    """Cell (i, j, k) reaches from origin + pitch * (i, j, k) to the next corner.

    Moments are in the cell's own coordinates, which run from -1 to 1 along each edge.
    """

    pitch_mm: float
    origin_mm: ndarray  # float64 (3,)
    full: ndarray  # bool (nx, ny, nz): material throughout
    cut: ndarray  # int32 (b, 3): cells that the surface passes through
    labels: ndarray  # uint8 (b, s, s, s): piece of material in a small cube of a cut cell, from 1; 0 for none
    owner: ndarray  # int64 (c, 2): cut cell and label of each piece of material in a cut cell
    share: ndarray  # float64 (c,): of the cell's volume that is this piece
    mean: ndarray  # float64 (c, 3): centre of the piece
    spread: ndarray  # float64 (c, 3, 3): covariance of the piece about it
    leaks: int  # columns of samples along z that met the surface an odd number of times
    columns: int  # of samples in all
