"""Tables of measured runs: one measured value a row, with the conditions that it came about under."""

from __future__ import annotations

import json
import re
from itertools import islice
from pathlib import Path

from sagger import texts
from sagger.errors import InputError
from sagger.goods.scored import Given, MeasuredRun

NEEDED = ("key", "what", "measured", "measured_u")
NUMBERS = (
    *("green", "peak_C", "rate", "hold_min", "sintered", "layer_um", "saturation_percent"),
    *("d10_um", "d50_um", "d90_um", "apparent", "tap", "solid", "packing", "size_um", "T_C"),
)
WORDS = ("atmosphere", "gas", "span", "powder", "order")
NUMBER = r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
TOLD = re.compile(rf"^\D{{0,6}}({NUMBER})(?:\s*(?:\+-|±|\+/-)\s*({NUMBER}))?")
MOST = 100_000  # rows


def read(path: Path) -> tuple[MeasuredRun, ...]:
    """Runs of a table.

    Raises
    ------
    InputError
        If the file cannot be read, a column is missing, or a row's measured value is no number.
    """
    text = texts.read(path, InputError, "the table")
    lines = (cells for _, cells in texts.rows(text, path.name, InputError) if any(cells))
    names = next(lines, [])
    rows = [dict(zip(names, cells, strict=False)) for cells in islice(lines, MOST)]
    missing = [name for name in NEEDED if rows and name not in rows[0]]
    if missing or not rows:
        what_lacks = f"columns are missing: {', '.join(missing)}" if missing else "the table has no rows"
        raise InputError(what_lacks, file=path.name, remedy="docs/score.md lists the columns.")
    return tuple(_run(row, path.name, line) for line, row in enumerate(rows, 2))


def _run(row: dict[str, str], file: str, line: int) -> MeasuredRun:
    cells = {name: value.strip() for name, value in row.items() if name and value and value.strip()}
    cells = _inputs(cells, file, line) | cells
    return MeasuredRun(
        key=cells.get("key", f"row {line}"),
        source=cells.get("source", cells.get("paper", "")),
        standing=cells.get("standing", ""),
        quantity=cells.get("what", ""),
        unit=cells.get("unit", "-"),
        measured=_number(cells, "measured", file, line),
        measured_u=_number(cells, "measured_u", file, line),
        card=cells.get("card", cells.get("material", "")),
        numbers={name: given for name in NUMBERS if (given := _given(cells.get(name, "")))},
        words={name: cells[name] for name in WORDS if name in cells},
        independent=cells.get("independent", "true").lower() not in ("false", "no", "0"),
        holdout=cells.get("holdout", "").lower() in ("true", "yes", "1"),
        note=cells.get("note", ""),
    )


def _inputs(cells: dict[str, str], file: str, line: int) -> dict[str, str]:
    """Conditions that stand in one cell as a JSON object."""
    if "inputs" not in cells:
        return {}
    try:
        table = json.loads(cells["inputs"])
    except (ValueError, RecursionError) as fault:
        raise InputError(f"row {line}: no JSON object", file=file, field="inputs") from fault
    if not isinstance(table, dict):
        raise InputError(f"row {line}: no JSON object", file=file, field="inputs")
    return {
        str(name): value if isinstance(value, str) else json.dumps(value) for name, value in table.items()
    }


def _number(cells: dict[str, str], name: str, file: str, line: int) -> float:
    try:
        return float(cells.get(name, ""))
    except ValueError as fault:
        wrong = f"row {line}: this must be a number"
        raise InputError(wrong, file=file, field=name, value=cells.get(name, "")) from fault


def _given(cell: str) -> Given | None:
    """A number with its ±; None for "card", for words and for rows of numbers."""
    match = TOLD.match(cell)
    if match is None:
        return None
    value, u = match.groups()
    return Given(value=float(value), u=float(u) if u else 0.0, assumed="assumed" in cell)
