"""What must be printed: the part, pre-deformed if need be, with a linear map per allowed orientation."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.factors import Factors
from sagger.goods.good import good
from sagger.goods.part import Part
from sagger.goods.sag import Sag
from sagger.goods.shape import Shape


@good
class Green:
    part: Part
    shape: Shape  # nominal size, in the part's axes; equal to part.shape until it is pre-deformed
    factors: Factors
    maps: ndarray  # float64 (t, 3, 3): diag(k) @ turn; printed = map @ nominal (+ place)
    sag: Sag | None = None  # None: not looked at by finite elements
    chances: ndarray | None = None  # float64 (t,): of a piece, by orientation; None unless that is preferred
