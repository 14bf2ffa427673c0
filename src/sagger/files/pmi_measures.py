"""Measures of a STEP file: a value with a unit of its own, in mm or degrees (ISO 10303-41)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from sagger.files import part21
from sagger.files.part21 import Damaged, Entity, Enumerated, Text, Value

PREFIXES = {"": 1.0, "KILO": 1e3, "CENTI": 1e-2, "MILLI": 1e-3, "MICRO": 1e-6, "NANO": 1e-9}
BASES = {"METRE": (1e3, "mm"), "RADIAN": (180.0 / math.pi, "deg")}
LENGTHS = {"mm": 1.0, "um": 1e-3, "cm": 10.0, "m": 1e3, "in": 25.4}
DEEPEST = 5  # units that are so many of another unit


class StepMeasure(NamedTuple):
    name: str
    value: float
    unit: str  # "mm" or "deg"


class StepUnit(NamedTuple):
    factor: float
    name: str  # "mm" or "deg"


def measure(file: Text, entity: Entity) -> StepMeasure | None:
    """The measure that an item is; None if it is an item of another kind."""
    name = ""
    if "REPRESENTATION_ITEM" in entity:
        name = part21.words(entity["REPRESENTATION_ITEM"][0])
    for kind, values in entity.items():
        if kind == "MEASURE_REPRESENTATION_ITEM" and len(values) == 3:
            return _measured(file, part21.words(values[0]), values[1], values[2])
        if kind.endswith("MEASURE_WITH_UNIT") and len(values) == 2:
            return _measured(file, name, values[0], values[1])
    return None


def needed(file: Text, value: Value) -> StepMeasure:
    """The measure that a parameter refers to; `Damaged` if it is none."""
    entity = file.at(value)
    figure = measure(file, entity)
    if figure is None:
        raise Damaged(f"#{entity.number} is no measure")
    return figure


def length_unit_mm(file: Text) -> float:
    """The unit of the geometry's coordinates [mm]; 1 if the file names none."""
    try:
        return next(_lengths(file), 1.0)
    except (Damaged, LookupError, TypeError, ValueError):
        return 1.0


def length_units(file: Text) -> list[str]:
    """Units of length of the file's contexts, in turn: "mm" and the like, or so many mm."""
    return [
        next((word for word, mm in LENGTHS.items() if abs(factor / mm - 1) < 1e-9), f"{factor:g} mm")
        for factor in _lengths(file)
    ]


def _lengths(file: Text) -> Iterator[float]:
    """The length unit of each context of geometry [mm]."""
    for number in file.of_type("GLOBAL_UNIT_ASSIGNED_CONTEXT"):
        for unit in part21.references(file.entity(number)["GLOBAL_UNIT_ASSIGNED_CONTEXT"]):
            if "LENGTH_UNIT" in file.entity(unit):
                yield _unit(file, unit).factor


def _measured(file: Text, name: str, value: Value, unit: Value) -> StepMeasure:
    known = _unit(file, unit)
    return StepMeasure(name, part21.number(value) * known.factor, known.name)


def _unit(file: Text, value: Value, depth: int = 0) -> StepUnit:
    """What a unit is in mm or degrees."""
    entity = file.at(value)
    if depth > DEEPEST:
        raise Damaged(f"unit #{entity.number} is made of itself")
    converted = entity.one_of("CONVERSION_BASED_UNIT")
    if converted is not None:
        rule = file.at(converted[1])
        factor, base = next(v for k, v in rule.items() if k.endswith("MEASURE_WITH_UNIT"))
        known = _unit(file, base, depth + 1)
        return StepUnit(part21.number(factor) * known.factor, known.name)
    words = [word for word in entity.need("SI_UNIT") if isinstance(word, Enumerated)]
    prefix, base = (words[0], words[1]) if len(words) == 2 else ("", words[0] if words else "")
    if base not in BASES or prefix not in PREFIXES:
        raise Damaged(f"unit #{entity.number} is neither of length nor of angle")
    factor, name = BASES[base]
    return StepUnit(PREFIXES[prefix] * factor, name)
