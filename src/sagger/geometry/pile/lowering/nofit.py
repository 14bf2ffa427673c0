"""Lowest places of one shape above another when it is let down from above.

The whole rule of nesting by lifting: piece b may stand at height z over place (y, x) if everything above is
free, so one height per place tells all. Heights are int32 micrometres, arrays [y, x].
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.lowering.columns import NOTHING

CLEAR = -NOTHING // 2  # [um] below this a lowest height means "never meets"


def lowest(reach: np.ndarray, under: np.ndarray) -> np.ndarray:
    """Lowest height of a shape that is let down onto another, for every offset.

    Parameters
    ----------
    reach : ndarray
        int32 (ay, ax): reach of the lying shape over its columns [um].
    under : ndarray
        int32 (by, bx): underside of the shape let down [um].

    Returns
    -------
    ndarray
        int32 (ay + by - 1, ax + bx - 1): at [by - 1 + dy, bx - 1 + dx] the lowest height [um] of the second
        shape, relative to the first, when its column (0, 0) is over column (dy, dx) of `reach`; below
        `CLEAR` where they never meet.

    Source
    ------
    The largest of reach minus underside over the columns they share: a max-plus product.
    """
    out = np.full((reach.shape[0] + under.shape[0] - 1, reach.shape[1] + under.shape[1] - 1), -2 * NOTHING)
    out = out.astype(np.int32)
    _lowest(reach, under, out)
    return out


@checked
def _lowest(reach: ndarray, under: ndarray, out: ndarray) -> None:
    deep, wide = reach.shape
    b_deep, b_wide = under.shape
    for j in range(b_deep):
        for i in range(b_wide):
            low = under[j, i]
            if low >= NOTHING:
                continue
            first = b_wide - 1 - i
            for k in range(deep):
                row, line = reach[k], out[k + b_deep - 1 - j, first : first + wide]
                for m in range(wide):
                    high = np.int32(row[m] - low)
                    line[m] = high if high > line[m] else line[m]


@checked
def raise_floor(floor: ndarray, mask: ndarray, y: int, x: int, z: int) -> None:
    """Raise `floor` [um] to `mask` + z; mask[0, 0] lies over floor[y, x], which may be outside."""
    for j in range(max(0, -y), min(mask.shape[0], floor.shape[0] - y)):
        first, last = max(0, -x), min(mask.shape[1], floor.shape[1] - x)
        row, line = mask[j, first:last], floor[y + j, x + first : x + last]
        for i in range(last - first):
            high = np.int32(row[i] + z)
            line[i] = high if high > line[i] else line[i]
