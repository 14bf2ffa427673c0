"""Unit words at the edge; SI inside.

A figure is written as text, "1.23 g/cm3", and read once, here. Kinds name what a unit measures, so that a
length where a density belongs is refused.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from sagger.errors import InputError


class Unit(NamedTuple):
    kind: str
    factor: float  # SI = value * factor + offset
    offset: float = 0.0


_TABLE: dict[str, dict[str, float]] = {
    "pure": {"-": 1.0, "%": 1e-2, "wt%": 1e-2, "vol%": 1e-2, "ppm": 1e-6, "in/ft": 1 / 12},
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "um": 1e-6, "nm": 1e-9, "in": 0.0254},
    "area": {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6},
    "volume": {"m3": 1.0, "L": 1e-3, "mL": 1e-6, "cm3": 1e-6, "mm3": 1e-9, "pL": 1e-15},
    "mass": {"kg": 1.0, "g": 1e-3, "mg": 1e-6},
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "speed": {"m/s": 1.0, "mm/s": 1e-3, "mm/min": 1e-3 / 60},
    "frequency": {"Hz": 1.0, "kHz": 1e3, "1/s": 1.0, "1/min": 1 / 60, "%/min": 1e-2 / 60},
    "density": {"kg/m3": 1.0, "g/cm3": 1e3, "g/m3": 1e-3},
    "pressure": {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "bar": 1e5},
    "viscosity": {"Pa.s": 1.0, "mPa.s": 1e-3},
    "viscosity_per_kelvin": {"Pa.s/K": 1.0},
    "surface_tension": {"N/m": 1.0, "mN/m": 1e-3, "J/m2": 1.0},
    "conductivity": {"W/m.K": 1.0},
    "heat_capacity": {"J/kg.K": 1.0},
    "heat_transfer": {"W/m2.K": 1.0},
    "power": {"W": 1.0, "kW": 1e3},
    "energy": {"J": 1.0, "kJ": 1e3, "kWh": 3.6e6},
    "latent_heat": {"J/kg": 1.0, "kJ/kg": 1e3, "MJ/kg": 1e6},
    "force": {"N": 1.0},
    "specific_surface": {"m2/kg": 1.0, "cm2/g": 0.1},
    "diffusivity": {"m2/s": 1.0, "mm2/s": 1e-6},
    "heat_flux": {"W/m2": 1.0, "kW/m2": 1e3},
    "mass_flow": {"kg/s": 1.0, "g/s": 1e-3, "kg/h": 1 / 3600, "g/h": 1e-3 / 3600},
    "mass_flux": {"kg/m2.s": 1.0, "g/m2.s": 1e-3},
    "volume_flow": {"m3/s": 1.0, "m3/h": 1 / 3600, "cm3/h": 1e-6 / 3600},
    "volume_per_volume": {"m3/m3": 1.0, "m3/L": 1e3, "ft3/gal": 7.480519480519481},
    "pressure_rate": {"Pa/s": 1.0, "bar/s": 1e5},
    "dust_index": {"Pa.m/s": 1.0, "bar.m/s": 1e5},
    "sintering_work": {"s/K": 1.0},
    "weight_per_volume": {"N/m3": 1.0},
    "curling_rate": {"1/m.s": 1.0},
    "molar_energy": {"J/mol": 1.0, "kJ/mol": 1e3},
    "molar_mass": {"kg/mol": 1.0, "g/mol": 1e-3},
    "temperature": {"K": 1.0},
    "heating_rate": {"K/s": 1.0, "K/min": 1 / 60, "K/h": 1 / 3600},
    "resolution": {"1/m": 1.0, "dpi": 1 / 0.0254},
    "angle": {"rad": 1.0, "deg": 0.017453292519943295},
    "count": {"pieces": 1.0, "layers": 1.0, "nozzles": 1.0, "boxes": 1.0, "shelves": 1.0, "people": 1.0},
    "money": {"cur": 1.0},
    "price_per_mass": {"cur/kg": 1.0},
    "price_per_volume": {"cur/L": 1e3},
    "price_per_time": {"cur/h": 1 / 3600},
    "price_per_energy": {"cur/kWh": 1 / 3.6e6},
}
UNITS: dict[str, Unit] = {
    word: Unit(kind, factor) for kind, words in _TABLE.items() for word, factor in words.items()
} | {"degC": Unit("temperature", 1.0, 273.15)}
_SPELLINGS = {"µm": "um", "μm": "um", "°C": "degC", "°": "deg", "W/mK": "W/m.K", "J/kgK": "J/kg.K", "l": "L"}
_NUMBER = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(\S.*?)?\s*$")


def unit(word: str) -> Unit:
    """The unit a word names; `InputError` if it names none."""
    known = UNITS.get(_SPELLINGS.get(word, word))
    if known is None:
        raise InputError(f"no unit is called {word!r}", remedy=f"Known: {', '.join(UNITS)}.")
    return known


def read(text: str, kind: str) -> float:
    """SI value of text such as "1.23 g/cm3".

    Raises
    ------
    InputError
        If there is no number, no unit, an unknown unit, or one of another kind than `kind`.
    """
    match = _NUMBER.match(text)
    words = ", ".join(word for word, known in UNITS.items() if known.kind == kind)
    if match is None or match[2] is None:
        raise InputError("a number and a unit are needed", value=text, remedy=f"Units that fit: {words}.")
    if re.fullmatch(r",\d+.*", match[2]):  # 0,2 mm
        remedy = f"Write a point: {text.strip().replace(',', '.', 1)}."
        raise InputError("numbers have a decimal point here, no comma", value=text, remedy=remedy)
    if _SPELLINGS.get(match[2], match[2]) not in UNITS:
        raise InputError(f"no unit is called {match[2]!r}", value=text, remedy=f"Units that fit: {words}.")
    known = unit(match[2])
    if known.kind != kind:
        what = f"{match[2]!r} is a unit of {known.kind}, {kind} is needed"
        raise InputError(what, value=text, remedy=f"Units that fit: {words}.")
    return float(match[1]) * known.factor + known.offset


def span(text: str, kind: str) -> float:
    """Size of a difference such as "5 K" or "10 degC": the unit's factor without its offset."""
    match = _NUMBER.match(text)
    zero = f"0 {match[2]}" if match and match[2] else text
    return read(text, kind) - read(zero, kind)


def into(value: float, word: str) -> float:
    """`value` [SI] in the unit `word`."""
    known = unit(word)
    return (value - known.offset) / known.factor
