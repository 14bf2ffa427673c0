"""Tables of a calibration: coupons that were fired, what firings they saw, dilatometer runs.

A bad row is named by line and column and left out; the good ones are kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger import texts
from sagger.errors import InputError
from sagger.files import cells
from sagger.files.cells import Bad, Cells
from sagger.goods.reading import BadRow

KINDS = ("cube", "bridge")
LENGTHS = ("x_green_mm", "y_green_mm", "z_green_mm", "x_mm", "y_mm", "z_mm")
OTHERS = ("mass_green_g", "mass_g", "density_percent", "span_green_mm", "span_mm", "sag_mm")
COUPONS = ("coupon", "kind", "firing", *LENGTHS, *OTHERS)
FIRINGS = ("firing", "rate_K_per_min", "target_degC", "hold_min")
RUNS = ("run", "time_min", "temperature_degC")
DENSITY, SHRINKAGE = "density_percent", "shrinkage_percent"
NEEDED = {"cube": LENGTHS, "bridge": ("z_green_mm", "span_green_mm", "span_mm", "sag_mm")}
MOST = 200_000  # rows


class CouponRow(NamedTuple):
    """One coupon as read; None where the cell is empty. Lengths in m, masses in kg."""

    name: str
    kind: str
    firing: str
    green: tuple[float | None, ...]  # x, y, z
    after: tuple[float | None, ...]
    mass_green: float | None
    mass: float | None
    density: float | None  # relative, by Archimedes
    span: float | None
    span_after: float | None
    sag: float | None


class FiringStretch(NamedTuple):
    """One stretch of a firing."""

    rate: float  # [K/s]
    target: float  # [K]
    hold: float  # [s]


class DilatometerRun(NamedTuple):
    """A dilatometer run; `values` are relative densities or linear shrinkages."""

    time: ndarray  # [s]
    temperature: ndarray  # [K]
    values: ndarray  # [-]


def coupons(path: Path) -> tuple[list[CouponRow], list[BadRow]]:
    """Coupons of a table, and the rows that are none; `InputError` if the file or its heading is refused."""
    read, bad = [], []
    for line, names, row in _rows(path, ("coupon", "kind"), COUPONS):
        try:
            read.append(_coupon(row))
        except Bad as fault:
            bad.append(_told(line, names, fault))
    return read, bad


def firings(path: Path) -> tuple[dict[str, list[FiringStretch]], list[BadRow]]:
    """Stretches of each firing, in the order of the table, and the rows that are none."""
    by_name: dict[str, list[FiringStretch]] = {}
    bad = []
    for line, names, row in _rows(path, FIRINGS, FIRINGS):
        try:
            stretch = FiringStretch(
                _above(row, "rate_K_per_min") / 60,
                cells.number(row, "target_degC") + 273.15,
                _least(row, "hold_min", 0.0) * 60,
            )
            by_name.setdefault(_named(row, "firing"), []).append(stretch)
        except Bad as fault:
            bad.append(_told(line, names, fault))
    return by_name, bad


def runs(path: Path) -> tuple[dict[str, DilatometerRun], list[BadRow], str]:
    """Dilatometer runs by name, the rows that are none, and what was read, `DENSITY` or `SHRINKAGE`."""
    points: dict[str, list[tuple[float, float, float]]] = {}
    bad, read = [], ""
    for line, names, row in _rows(path, RUNS, (*RUNS, DENSITY, SHRINKAGE)):
        read = DENSITY if DENSITY in names else SHRINKAGE
        try:
            point = (
                cells.number(row, "time_min") * 60,
                cells.number(row, "temperature_degC") + 273.15,
                cells.number(row, read) / 100,
            )
            earlier = points.setdefault(_named(row, "run"), [])
            if earlier and point[0] <= earlier[-1][0]:
                raise Bad("time_min", "times of a run must rise")
            earlier.append(point)
        except Bad as fault:
            bad.append(_told(line, names, fault))
    return {name: DilatometerRun(*np.array(rows).T) for name, rows in points.items()}, bad, read


def _coupon(row: Cells) -> CouponRow:
    kind = _named(row, "kind")
    if kind not in KINDS:
        raise Bad("kind", f"it is one of {', '.join(KINDS)}, not {kind!r}")
    for name in NEEDED[kind]:
        if not row.get(name):
            raise Bad(name, f"a {kind} needs this")
    values = {name: _optional(row, name) for name in (*LENGTHS, *OTHERS)}
    density = values["density_percent"]
    if density is not None and density >= 100:
        raise Bad("density_percent", "a relative density lies below 100 %")
    milli = {name: None if value is None else value * 1e-3 for name, value in values.items()}
    return CouponRow(
        name=_named(row, "coupon"),
        kind=kind,
        firing=row.get("firing", ""),
        green=tuple(milli[name] for name in LENGTHS[:3]),
        after=tuple(milli[name] for name in LENGTHS[3:]),
        mass_green=milli["mass_green_g"],
        mass=milli["mass_g"],
        density=None if density is None else density / 100,
        span=milli["span_green_mm"],
        span_after=milli["span_mm"],
        sag=milli["sag_mm"],
    )


def _optional(row: Cells, name: str) -> float | None:
    return _above(row, name) if row.get(name) else None


def _above(row: Cells, name: str) -> float:
    value = cells.number(row, name)
    if value <= 0:
        raise Bad(name, f"this must be above 0, not {row[name]!r}")
    return value


def _least(row: Cells, name: str, least: float) -> float:
    value = cells.number(row, name)
    if value < least:
        raise Bad(name, f"this must be {least:g} or more, not {row[name]!r}")
    return value


def _named(row: Cells, name: str) -> str:
    if not row.get(name):
        raise Bad(name, "this is empty")
    return row[name]


def _told(line: int, names: list[str], fault: Bad) -> BadRow:
    column = names.index(fault.name) + 1 if fault.name in names else 0
    return BadRow(line=line, column=column, name=fault.name, what=fault.what)


def _rows(
    path: Path, wanted: Sequence[str], known: Sequence[str]
) -> Iterator[tuple[int, list[str], dict[str, str]]]:
    """Line number, heading and cells by column; blank lines and lines that begin with # are left out."""
    text = texts.read(path, InputError, "the table")
    names: list[str] = []
    first = text.partition("\n")[0]
    sign = ";" if first.count(";") > first.count(",") else ","
    for line, written in islice(texts.rows(text, path.name, InputError, sign), MOST + 1):
        row = [cell.strip() for cell in written]
        if not any(row) or row[0].startswith("#"):
            continue
        if not names:
            names = row
            _check(names, wanted, known, path.name)
            continue
        yield line, names, dict(zip(names, row, strict=False))


def _check(names: list[str], wanted: Sequence[str], known: Sequence[str], file: str) -> None:
    strange = [name for name in names if name not in known]
    missing = [name for name in wanted if name not in names]
    if strange or missing:
        what = f"column {missing[0]!r} is missing" if missing else "there is no such column"
        value = "" if missing else strange[0]
        raise InputError(what, file=file, field="heading", value=value, remedy=f"Known: {', '.join(known)}.")
