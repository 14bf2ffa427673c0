"""What one line of a drawing asks of one feature, as linear forms of how points of its faces move."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good


@good
class DrawnFeature:
    """Rows, each a sum of weights times how far points move outward, and the rule that they must meet.

    `rule` is "each" (nominal plus every row between lower and upper), "zone" (twice the largest magnitude at
    most `upper`), "range" (largest less smallest at most `upper`) or "round" (twice the longest of pairs of
    rows at most `upper`). Lengths in the part's axes and mm; `unit` is that of rows and limits.
    """

    line: int  # of the drawing, from 1: dimensions, then geometric tolerances
    rule: str
    operator: str  # how the value is taken, in words
    nominal: float  # 0 for form and place
    lower: float
    upper: float
    unit: str  # "mm" or "deg"
    points: ndarray  # float64 (n, 3)
    normals: ndarray  # float64 (n, 3), outward
    faces: ndarray  # int64 (n,): number of the face that each point lies on
    weights: ndarray  # float64 (rows, n)
    bonus: int = -1  # place among the characteristics of the size whose material gives more room; -1: none
    bonus_sign: int = 0  # 1 where a larger size gives more room (a bore at maximum material), else -1
