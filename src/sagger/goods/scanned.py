"""A scanned surface laid on the shape that it should have."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good


@good
class Scanned:
    """Axes are those of the shape it was laid on."""

    turn: ndarray  # float64 (3, 3): rotation of the scan
    shift_mm: ndarray  # float64 (3,): then moved by
    points_mm: ndarray  # float64 (n, 3): places on the scanned surface, once laid
    deviation_mm: ndarray  # float64 (n,): above 0 where there is too much material
    u_mm: ndarray  # float64 (n,): standard uncertainty of each, of one reading and of how the scan was laid
    scale: ndarray  # float64 (3,): size found over size asked, along each axis
    scale_u: ndarray  # float64 (3,): standard uncertainty, without the scanner's own scale
    left_out: float  # share of the surface that fits nowhere: dirt, supports, holes in the scan [-]
