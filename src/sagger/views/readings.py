"""Readings in the units of the trade."""

from __future__ import annotations

import math

from sagger.goods.reading import UNITS, Reading
from sagger.units import into

SHOWN = {kind: (unit, 2 if kind == "temperature" else 4) for kind, unit in UNITS.items()}


def line(reading: Reading) -> str:
    """A reading in one line, its uncertainty with what it shares."""
    number = f"{reading.number:>6}  " if reading.number else ""
    what = " ".join(each for each in (reading.state, reading.kind, reading.feature, reading.axis) if each)
    u = math.hypot(reading.u, reading.u_shared)
    found = size(reading.kind, reading.value, u, reading.unit)
    return f"{number}{reading.box}  {reading.piece}  {what}  {found}"


def size(kind: str, value: float, u: float, unit: str = "") -> str:
    """A value and its standard uncertainty [SI], such as "20.0100 ± 0.0119 mm"; hardness in its own scale."""
    word, digits = SHOWN.get(kind, (unit, 1))
    if kind in SHOWN:
        value, u = into(value, word), into(value + u, word) - into(value, word)
    return f"{value:.{digits}f} ± {u:.{digits}f} {word}"
