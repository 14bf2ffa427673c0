"""Tables of measurements, CSV with a heading: each wrong cell is named by line and column."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy import ndarray

from sagger import texts, units
from sagger.errors import LotError
from sagger.physics.powder import grains

MOST = 10_000  # rows: a bench writes fewer


def table(
    path: Path, wanted: Sequence[str], optional: Sequence[str] = (), most: int = MOST
) -> dict[str, list[str]]:
    """Columns of a CSV file by heading, as text; blank lines and lines that begin with # are left out.

    Raises
    ------
    LotError
        If the file cannot be read, a wanted column is missing, or a line has too few or too many cells.
    """
    rows = _rows(path, most)
    if not rows:
        raise LotError("the table is empty", file=path.name, remedy=f"Columns: {', '.join(wanted)}.")
    (_, heading), *body = rows
    names = [name.strip() for name in heading]
    missing = [name for name in wanted if name not in names]
    if missing:
        remedy = f"Its heading needs: {', '.join((*wanted, *optional))}."
        raise LotError(f"column {missing[0]!r} is missing", file=path.name, value=names, remedy=remedy)
    for line, cells in body:
        if len(cells) != len(names):
            what = f"line {line} has {len(cells)} cells, the heading {len(names)}"
            raise LotError(what, file=path.name, remedy="Mend the line.")
    columns = {name: [cells[at].strip() for _, cells in body] for at, name in enumerate(names)}
    return columns | {"line": [str(line) for line, _ in body]}


def numbers(path: Path, columns: dict[str, list[str]], name: str, unit: str = "-") -> ndarray:
    """One column as SI values, float64 (n,)."""
    values = []
    for line, text in zip(columns["line"], columns[name], strict=True):
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            where = f"line {line}, column {name}"
            raise LotError("a number is needed", file=path.name, field=where, value=text)
        values.append(value)
    known = units.unit(unit)
    return np.array(values) * known.factor + known.offset


def curve(path: Path) -> tuple[ndarray, ndarray]:
    """Sizes [m] and mass shares finer [-] of a size curve.

    Two forms, told by the heading: `size_um,finer_percent` (cumulative), or `opening_um,retained` with what
    stayed on each sieve in any unit, opening 0 for the pan.

    Raises
    ------
    LotError
        If it is neither, or does not rise.
    """
    heading = next((cells for _, cells in _rows(path)), [])
    if "opening_um" in [name.strip() for name in heading]:
        size, finer = _sieved(path)
    else:
        columns = table(path, ("size_um", "finer_percent"))
        size, finer = numbers(path, columns, "size_um", "um"), numbers(path, columns, "finer_percent", "%")
    refuse_crooked(size, finer, path.name)
    return size, finer


def refuse_crooked(size: ndarray, finer: ndarray, file: str) -> None:
    """Nothing if sizes and shares rise as a cumulative curve does; else `LotError` with the place."""
    if size.size != finer.size or size.size < 3:
        wrong = "a curve needs three points or more, as many sizes as shares"
        raise LotError(wrong, file=file, field="curve", value=f"{size.size} and {finer.size}")
    if size[0] <= 0 or finer[0] < 0 or finer[-1] > 1 + 1e-6:
        raise LotError("sizes must be above 0, shares from 0 to 100 %", file=file, field="curve")
    for name, values, least in (("size", size, 1e-12), ("share finer", finer, 0.0)):
        falls = np.flatnonzero(np.diff(values) < least)
        if falls.size:
            wrong = f"the {name} of point {falls[0] + 2} does not rise above that of point {falls[0] + 1}"
            raise LotError(wrong, file=file, field="curve", remedy="Order it from fine to coarse.")


def _sieved(path: Path) -> tuple[ndarray, ndarray]:
    columns = table(path, ("opening_um", "retained"))
    opening, mass = numbers(path, columns, "opening_um", "um"), numbers(path, columns, "retained")
    if (mass < 0).any() or mass.sum() <= 0 or (opening == 0).sum() > 1:
        what = "what stays on a sieve is 0 or more, and there is one pan at most"
        raise LotError(what, file=path.name, field="retained")
    pan = opening == 0
    kept = np.concatenate([mass[~pan], mass[pan]])
    size, finer = grains.passing(opening[~pan].tolist(), kept.tolist())
    # All passed the sieve above the coarsest; its opening is not said, so a step of root two is taken.
    if finer[-1] < 1:
        size, finer = np.append(size, size[-1] * math.sqrt(2)), np.append(finer, 1.0)
    return size, finer


def _rows(path: Path, most: int = MOST) -> list[tuple[int, list[str]]]:
    """Line numbers and cells."""
    text = texts.read(path, LotError, "the table")
    rows = []
    for line, cells in texts.rows(text, path.name, LotError):
        if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
            rows.append((line, cells))
        if len(rows) > most:
            what = f"the table has more than {most:,} lines"
            raise LotError(what, file=path.name, remedy="Give one powder per table, and thin out its lines.")
    return rows
