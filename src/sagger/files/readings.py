"""Tables of readings, CSV with a heading: a bad row is named by line and column, the good ones are kept."""

from __future__ import annotations

import csv
import difflib
import hashlib
import io
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from sagger.errors import InputError
from sagger.files import cells as cell
from sagger.files import weighings
from sagger.files.cells import Bad, Cells
from sagger.goods.reading import AXES, STATES, BadRow, Instrument, Reading, Table
from sagger.tick import Tick, silent

COLUMNS = {
    "box": "name of the box, as booked",
    "piece": "label of the piece or coupon in the box",
    "kind": "length, thickness, mass, density, hardness, or weighing for a density from masses",
    "state": "green, brown or sintered",
    "value": "the reading, with its unit or a number in the unit of the next column",
    "unit": "such as mm, um, g, g/cm3; for hardness its scale, such as HV10",
    "instrument": "name of the instrument, as entered",
    "u": "standard uncertainty of the reading alone, if not the instrument's",
    "axis": "machine axis along which a length lay when printed: x, y, z",
    "feature": "which length",
    "nominal": "finished size that was asked for",
    "part": "name of the part or kind of coupon, if the box is not booked",
    "lot": "powder lot, if the box is not booked",
    "load": "furnace run, if not booked",
    "tray": "tray, if not booked",
    "place": "place in the furnace, if not booked",
    "x_mm": "place in the box, if not booked",
    "y_mm": "place in the box, if not booked",
    "z_mm": "place in the box, if not booked",
    "taken": "ISO date or time",
    "person": "who read it",
    "corrects": "number of the reading that this one replaces",
    **weighings.COLUMNS,
}
NEEDED = ("box", "piece", "kind", "state")
SIMPLE = {"length": "length", "thickness": "length", "mass": "mass", "density": "density", "hardness": ""}
SAME = {"thickness": "length", "weighing": "mass"}  # read with the instruments of
TEXTS = ("box", "piece", "instrument", "feature", "part", "lot", "load", "tray", "place", "person")
LONGEST = 80
EACH = 5_000  # rows between two words to the tick

Instruments = Mapping[str, Instrument]


def read(path: Path, instruments: Instruments, *, tick: Tick = silent) -> Table:
    """Readings of a CSV file, and the rows that are none.

    Parameters
    ----------
    path : Path
        UTF-8, comma or semicolon between the cells; lines that begin with # are left out.
    instruments : mapping of str to Instrument
        Those that are entered: their uncertainties go to their readings.

    Raises
    ------
    InputError
        If the file cannot be read, or its heading has a column that is not known or lacks one that is needed.
    """
    content, text = _text(path)
    rows = _rows(text, path.name)
    names = next(rows, (0, []))[1]
    _check_heading(names, path.name)
    found: list[Reading] = []
    bad: list[BadRow] = []
    for count, (line, cells) in enumerate(rows):
        if count % EACH == 0:
            tick.say("reading the table", count)
        try:
            found += of_row(_named(names, cells), instruments)
        except Bad as fault:
            column = names.index(fault.name) + 1 if fault.name in names else 0
            bad.append(BadRow(line=line, column=column, name=fault.name, what=fault.what))
    name = hashlib.blake2b(content, digest_size=16).hexdigest()
    return Table(readings=tuple(found), bad=tuple(bad), digest=name)


def of_row(cells: Cells, instruments: Instruments) -> list[Reading]:
    """Readings of one row: one, or with a weighing its masses and the density.

    Raises
    ------
    Bad
        With the column and what is wrong with it.
    """
    for name in NEEDED:
        if not cells.get(name):
            raise Bad(name, "this is empty")
    kind = cells["kind"]
    if cells["state"] not in STATES:
        raise Bad("state", f"it is one of {', '.join(STATES)}, not {cells['state']!r}")
    if kind not in (*SIMPLE, "weighing"):
        raise Bad("kind", f"it is one of {', '.join((*SIMPLE, 'weighing'))}, not {kind!r}")
    common = _common(cells)
    instrument = _instrument(cells, instruments)
    if kind == "weighing":
        alone = _alone(cells, instrument, "mass")
        return weighings.readings(cells, alone, instrument.u_shared if instrument else 0.0, common)
    value, unit = cell.value(cells, "value", SIMPLE[kind])
    if value <= 0:
        raise Bad("value", f"this must be above 0, not {cells['value']!r}")
    nominal = cell.amount(cells, "nominal", SIMPLE[kind])
    alone, shared = _alone(cells, instrument, SIMPLE[kind]), _shared(instrument, value)
    return [Reading(kind=kind, value=value, u=alone, u_shared=shared, unit=unit, nominal=nominal, **common)]


def _common(cells: Cells) -> dict[str, Any]:
    """What a reading says apart from its value."""
    common: dict[str, Any] = {name: cells.get(name, "") for name in TEXTS}
    for name, text in common.items():
        if len(text) > LONGEST:
            raise Bad(name, f"this is longer than {LONGEST} letters")
    axis = cells.get("axis", "")
    if axis not in AXES:
        raise Bad("axis", f"it is x, y or z, not {axis!r}")
    if any(cells.get(name) for name in ("x_mm", "y_mm", "z_mm")):
        common["at_mm"] = tuple(cell.number(cells, name) for name in ("x_mm", "y_mm", "z_mm"))
    common["corrects"] = cell.whole(cells, "corrects")
    return common | {"axis": axis, "state": cells["state"], "taken": cell.moment(cells, "taken")}


def _instrument(cells: Cells, instruments: Instruments) -> Instrument | None:
    name = cells.get("instrument", "")
    if name and name not in instruments:
        raise Bad("instrument", f"{name!r} is not entered; `sagger readings instrument` does that")
    found = instruments.get(name)
    reads = SAME.get(cells["kind"], cells["kind"])
    if found is not None and found.kind != reads:
        raise Bad("instrument", f"{name!r} reads {found.kind}, not {reads}")
    return found


def _alone(cells: Cells, instrument: Instrument | None, kind: str) -> float:
    """Standard uncertainty of the reading alone."""
    if not cells.get("u"):
        if instrument is None:
            raise Bad("u", "no uncertainty is known: give u, or name an instrument that is entered")
        return instrument.u
    u = cell.value(cells, "u", kind)[0]
    if u < 0:
        raise Bad("u", "an uncertainty cannot be negative")
    return u


def _shared(instrument: Instrument | None, value: float) -> float:
    """Standard uncertainty of what the reading has in common with others of the instrument."""
    if instrument is None:
        return 0.0
    return math.hypot(instrument.u_shared, instrument.u_shared_relative * value)


def _text(path: Path) -> tuple[bytes, str]:
    try:
        content = path.read_bytes()
        return content, content.decode("utf-8-sig")
    except OSError as error:
        raise InputError(f"the table cannot be read ({error.strerror})", file=str(path)) from None
    except UnicodeDecodeError:
        raise InputError("the table is not UTF-8 text", file=path.name, remedy="Save it as UTF-8.") from None


def _rows(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Line numbers and cells, the heading first."""
    first = next((line for line in text.splitlines() if line.strip() and line[0] != "#"), "")
    sign = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    line = 1
    try:
        for cells in reader:
            if any(cells) and not cells[0].startswith("#"):
                yield line, [each.strip() for each in cells]
            line = reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"line {line} is no CSV: {error}", file=file, remedy="Mend the line.") from None


def _named(names: list[str], cells: list[str]) -> Cells:
    if len(cells) > len(names):
        raise Bad("", f"the row has {len(cells)} cells, the heading {len(names)}")
    return dict(zip(names, cells, strict=False))


def _check_heading(names: list[str], file: str) -> None:
    for name in names:
        if name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, n=1)
            remedy = f"Did you mean {near[0]!r}?" if near else f"Known: {', '.join(COLUMNS)}."
            raise InputError("there is no such column", file=file, field="heading", value=name, remedy=remedy)
    missing = [name for name in NEEDED if name not in names]
    if missing or len(set(names)) < len(names):
        what = f"column {missing[0]!r} is missing" if missing else "two columns have the same name"
        remedy = f"A heading needs {', '.join(NEEDED)}; docs/readings.md shows all."
        raise InputError(what, file=file, field="heading", remedy=remedy)
