"""Screening figures of combustible dust. All SI.

No class here means that a dust is harmless: the lowest class has killed. A laboratory's report on the very
powder, local code and a licensed person decide.
"""

from __future__ import annotations

from sagger.errors import LawError

STRONG, VERY_STRONG = (
    200e5,
    300e5,
)  # lower bounds of classes St 2 and St 3 [Pa m/s]; VDI 3673, OSHA CPL 03-00-008


def explosion_class(index: float) -> str:
    """Dust explosion class "St 0" to "St 3" of a K_St [Pa m/s].

    Source: GESTIS-DUST-EX; OSHA CPL 03-00-008. "St 1" is not harmless.
    """
    if index < 0:
        raise LawError(f"K_St cannot be below 0, got {index:g} Pa m/s")
    if index == 0:
        return "St 0"
    if index <= STRONG:
        return "St 1"
    return "St 2" if index <= VERY_STRONG else "St 3"
