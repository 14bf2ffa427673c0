"""The table of a thermocouple run: a CSV file from any logger, with a heading that names units."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np

from sagger.errors import InputError
from sagger.files.measured import numbers, table
from sagger.goods.ovenrun import OvenRun

TIMES = {"time_s": "s", "time_min": "min", "time_h": "h"}
OVEN, CORE = "oven_degC", "core_degC"
FEWEST = 10  # rows


def read(path: Path) -> OvenRun:
    """The run in a table with the columns `time_s`, `time_min` or `time_h`, `oven_degC` and `core_degC`.

    Times may begin anywhere and must rise; other columns, blank lines and lines that begin with # are left
    out.

    Raises
    ------
    InputError
        If the file cannot be read, a column is missing, a cell is no number, or the times do not rise.
    """
    columns = table(path, (OVEN, CORE), tuple(TIMES))
    named = [name for name in TIMES if name in columns]
    if len(named) != 1:
        remedy = f"Its heading needs one of: {', '.join(TIMES)}."
        raise InputError("a table of a run needs one column of times", file=path.name, remedy=remedy)
    time = numbers(path, columns, named[0], TIMES[named[0]])
    if len(time) < FEWEST:
        what = f"a run needs {FEWEST} rows or more"
        raise InputError(what, file=path.name, value=len(time), remedy="Log more often, or for longer.")
    late = np.flatnonzero(np.diff(time) <= 0)
    if late.size:
        where = f"line {columns['line'][int(late[0]) + 1]}, column {named[0]}"
        raise InputError(
            "the times of a run must rise", file=path.name, field=where, remedy="Sort the table."
        )
    return OvenRun(
        name=path.name,
        digest=hashlib.blake2b(path.read_bytes(), digest_size=16).hexdigest(),
        time=time - time[0],
        oven=numbers(path, columns, OVEN, "degC"),
        core=numbers(path, columns, CORE, "degC"),
    )
