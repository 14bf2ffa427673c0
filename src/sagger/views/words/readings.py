"""Readings in the units of the trade."""

from __future__ import annotations

from sagger.goods.reading import UNITS, Reading
from sagger.statistics import chance
from sagger.units import into

SHOWN = {kind: (unit, 2 if kind == "temperature" else 4) for kind, unit in UNITS.items()}


def line(reading: Reading) -> str:
    """A reading in one line, its uncertainty with what it shares."""
    number = f"{reading.number:>6}  " if reading.number else ""
    quantity = " ".join(each for each in (reading.state, reading.kind, reading.feature, reading.axis) if each)
    found = size(reading.kind, reading.value, doubt(reading), reading.unit)
    return f"{number}{reading.box}  {reading.piece}  {quantity}  {found}"


def doubt(reading: Reading) -> float:
    """Standard uncertainty of a reading, what it shares included [as its value]."""
    return chance.combined((reading.u, reading.u_shared))


def size(kind: str, value: float, u: float, unit: str = "") -> str:
    """A value and its standard uncertainty [SI], such as "20.0100 ± 0.0119 mm"; hardness in its own scale."""
    word, digits = SHOWN.get(kind, (unit, 4 if kind == "dimension" else 1))
    if kind in SHOWN or kind == "dimension":
        value, u = into(value, word), into(value + u, word) - into(value, word)
    return f"{value:.{digits}f} ± {u:.{digits}f} {word}"
