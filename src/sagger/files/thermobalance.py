"""Runs of a thermobalance from a CSV table: each wrong cell is named by line and column."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sagger.errors import LotError
from sagger.files.measured import numbers, table
from sagger.physics.burnout.tga import LEAST_ROWS, BalanceRun

COLUMNS = ("run", "time_min", "temperature_degC", "mass")
MOST = 500_000  # rows of all runs together
HOTTEST = 2500.0  # [K]; above it the column is probably no temperature in degC


def read(path: Path) -> dict[str, BalanceRun]:
    """The runs of a table, by what its column `run` calls them, in the order of the table.

    Parameters
    ----------
    path : Path
        Heading `run,time_min,temperature_degC,mass`; mass in any one unit. Lines that begin with # are left
        out. Runs may follow each other or be mixed.

    Raises
    ------
    LotError
        If the file cannot be read, a cell is no number, a mass is not above 0, or a run is short or goes
        back in time.
    """
    columns = table(path, COLUMNS, most=MOST)
    time, kelvin = (
        numbers(path, columns, "time_min", "min"),
        numbers(path, columns, "temperature_degC", "degC"),
    )
    mass = numbers(path, columns, "mass")
    _within(path, columns, "temperature_degC", kelvin, 0.0, HOTTEST)
    _within(path, columns, "mass", mass, 0.0, np.inf)
    names, lines = np.array(columns["run"]), np.array(columns["line"])
    runs = {}
    for name in dict.fromkeys(columns["run"]):
        own = np.flatnonzero(names == name)
        back = np.flatnonzero(np.diff(time[own]) <= 0)
        if back.size:
            where = f"line {lines[own[back[0] + 1]]}, column time_min"
            raise LotError(f"run {name} does not go on in time", file=path.name, field=where)
        if own.size < LEAST_ROWS:
            what = f"run {name} has {own.size} lines, {LEAST_ROWS} are needed"
            raise LotError(what, file=path.name, field="run")
        runs[str(name)] = BalanceRun(time[own], kelvin[own], mass[own])
    return runs


def _within(
    path: Path, columns: dict[str, list[str]], name: str, values: np.ndarray, low: float, high: float
) -> None:
    wrong = np.flatnonzero((values <= low) | (values >= high))
    if wrong.size:
        line, text = columns["line"][wrong[0]], columns[name][wrong[0]]
        remedy = "Temperatures are in degC, masses above 0."
        what = "this is outside what a run can be"
        raise LotError(what, file=path.name, field=f"line {line}, column {name}", value=text, remedy=remedy)
