"""Compiling what computes, once, so that the first job does not wait for it without a word."""

from __future__ import annotations

import os
import time
from pathlib import Path

from sagger.tick import Tick, silent


def warm(*, tick: Tick = silent) -> float:
    """Seconds it took to run every compiled kernel on a small box of two parts."""
    began = time.monotonic()
    from sagger.desk.trial import run

    run(tick=tick)
    return time.monotonic() - began


def warmed(tick: Tick) -> None:
    """Nothing, once the kernels are compiled; if that has still to be done on this machine, says so."""
    if cold():
        warm(tick=tick)


def cold() -> bool:
    """Whether no compiled kernel is kept, beside the program or in the folder that NUMBA_CACHE_DIR names."""
    from numba import config

    from sagger.geometry import raster

    said = str(getattr(config, "CACHE_DIR", ""))
    beside = Path(raster.__path__[0])
    if not said and not os.access(beside, os.W_OK):
        return False  # kept in a folder of the user's that only the compiler knows
    return not any((Path(said) if said else beside / "__pycache__").rglob("*.nbi"))
