"""Compiling what computes, once, so that the first job does not wait for it."""

from __future__ import annotations

import time


def warm() -> float:
    """Seconds it took to run every compiled kernel on a small box of two parts."""
    began = time.monotonic()
    from sagger.desk.trial import run

    run()
    return time.monotonic() - began
