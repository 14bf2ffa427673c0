"""How a law of sintering moves to grains of another size."""

from __future__ import annotations

import math

from sagger.errors import LawError


def slower(size: float, exponent: float) -> float:
    """How many times as long a body of larger grains takes for the same densification [-].

    Parameters
    ----------
    size : float
        Grains over those that the law belongs to, of like shape and width [-].
    exponent : float
        3 where matter moves through the lattice, 4 along boundaries [-].

    Raises
    ------
    LawError
        If `size` is not above 0.

    Source
    ------
    Herring, Journal of Applied Physics 21 (1950) 301, from memory. For bodies that differ in scale alone.
    """
    if not size > 0:
        raise LawError(f"a ratio of grain sizes must be above 0, got {size:g}")
    return float(size**exponent)


def doubt(size: float, exponent_u: float) -> float:
    """Standard uncertainty of the logarithm of `slower` by that of the exponent [-]."""
    if not size > 0:
        raise LawError(f"a ratio of grain sizes must be above 0, got {size:g}")
    return abs(math.log(size)) * exponent_u
