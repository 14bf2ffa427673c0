"""How long a layer takes, as a sum of plain motions. All SI."""

from __future__ import annotations

from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sagger.errors import LawError

ROUNDING = 1e-9  # 1200 dpi over 400 dpi is 3 however it was rounded


def _whole_up(ratio: float) -> int:
    return ceil(ratio * (1 - ROUNDING))


def pitch(resolution: float) -> float:
    """Spacing of drops [m] at a `resolution` [1/m]. Source: definition."""
    if resolution <= 0:
        raise LawError(f"resolution must be above 0, got {resolution:g} per m; check the head card")
    return 1 / resolution


def stripes(width: float, swath: float) -> int:
    """Side-by-side passes that cover a `width` [m] with a `swath` [m]. Source: counting."""
    return max(1, _whole_up(width / swath))


def interleave(resolution: float, native: float) -> int:
    """Passes shifted against each other to print `resolution` with nozzles at `native` [1/m].

    Source: counting.
    """
    return max(1, _whole_up(resolution / native))


def passes_over(
    low: ArrayLike, high: ArrayLike, nozzles: int, step: int, turns: int = 1
) -> NDArray[np.int64]:
    """Passes that bring a nozzle to the rows from `low` to `high`; none where `low` is below 0.

    Parameters
    ----------
    low, high : int or (n,) int
        Lowest and highest row that wants a drop, from 0.
    nozzles, step : int
        Nozzles of the head, and rows between two of them (interlaced passes fill them).
    turns : int
        Redundancy: every further turn moves the head by a share of its width.

    Source: counting, stripes side by side from row 0.
    """
    first, last, width = np.asarray(low), np.asarray(high), nozzles * step
    count = np.zeros_like(first)
    for turn in range(turns):
        back = turn * (nozzles // turns) * step
        count = count + ((last + back) // width - (first + back) // width + 1) * step
    return np.asarray(np.where(first < 0, 0, count))


def firing_frequency(speed: float, pitch: float) -> float:
    """How often a nozzle fires at most [Hz], at pass `speed` [m/s] and drop `pitch` [m]. Source: motion."""
    return speed / pitch


def fastest_pass(frequency: float, pitch: float) -> float:
    """Fastest pass [m/s] that a head firing at `frequency` [Hz] can print at drop `pitch` [m]."""
    return frequency * pitch


def stroke_time(length: float, speed: float) -> float:
    """Time for one stroke [s]. Source: steady motion; accelerating counts to the turn."""
    if speed <= 0:
        raise LawError(f"speed must be above 0, got {speed:g} m/s")
    return length / speed


def print_time(passes: int, length: float, speed: float, turn: float) -> float:
    """Time for all passes of one layer [s]; `turn` is the time between passes [s]."""
    return passes * (stroke_time(length, speed) + turn)


def layer_time(
    spread: float, back: float, printing: float, dry: float, clean: float, platform: float
) -> float:
    """Time for one layer [s]: the sum of what is done one after the other. Source: counting."""
    return spread + back + printing + dry + clean + platform
