"""Tables of readings, CSV with a heading: a bad row is named by line and column, the good ones are kept."""

from __future__ import annotations

import difflib
import hashlib
import math
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from sagger import texts
from sagger.errors import InputError
from sagger.files import bending, dimension_rows, weighings
from sagger.files import cells as cell
from sagger.files.cells import Bad, Cells, RowFacts
from sagger.goods.asked_line import AskedLine
from sagger.goods.reading import AXES, STATES, BadRow, Instrument, Reading, Table
from sagger.tick import Tick, silent

COLUMNS = {
    "box": "name of the box, as booked",
    "piece": "label of the piece or coupon in the box",
    "dimension": "line of the drawing, by number as on the traveller (7.2: its second feature) or by name; "
    "kind and state may then be left out",
    "kind": "length, thickness, mass, density, strength, hardness; weighing (density from masses) or bending "
    "(strength from a force)",
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
    **bending.COLUMNS,
}
NEEDED = ("box", "piece", "kind", "state")
SIMPLE = {"length": "length", "thickness": "length", "mass": "mass", "density": "density"}
SIMPLE |= {"strength": "pressure", "hardness": ""}
WORKED = {"weighing": "mass", "bending": "force"}  # rows from which a reading is worked out, and what is read
SAME = {"thickness": "length", **WORKED}  # read with the instruments of
TEXTS = ("box", "piece", "instrument", "feature", "part", "lot", "load", "tray", "place", "person")
LONGEST = 80
EACH = 5_000  # rows between two words to the tick

Instruments = Mapping[str, Instrument]
Labels = Mapping[str, frozenset[str]]  # of the pieces in each box that is booked
NOTHING: Labels = {}
Drawn = Callable[[str, str], tuple[AskedLine, ...]]  # of a box and piece: what the drawing of its part asks


def undrawn(box: str, piece: str) -> tuple[AskedLine, ...]:
    """Nothing is known of any drawing."""
    return ()


def read(
    path: Path,
    instruments: Instruments,
    booked: Labels = NOTHING,
    drawn: Drawn = undrawn,
    *,
    tick: Tick = silent,
) -> Table:
    """Readings of a CSV file, and the rows that are none.

    Parameters
    ----------
    path : Path
        UTF-8, comma or semicolon between the cells; lines that begin with # are left out.
    instruments : mapping of str to Instrument
        Those that are entered: their uncertainties go to their readings.
    booked : mapping of str to frozenset of str
        Labels of the pieces in each booked box: a row of such a box that names none of them is bad.
    drawn : function
        Lines of the drawing of a piece's part, for rows with a `dimension`.

    Raises
    ------
    InputError
        If the file cannot be read, or its heading has a column that is not known or lacks one that is needed.
    """
    content, text = _text(path)
    rows = _rows(text, path.name)
    names = next(rows, (0, []))[1]
    _check_heading(names, path.name)
    readings: list[Reading] = []
    bad: list[BadRow] = []
    for count, (line, cells) in enumerate(rows):
        if count % EACH == 0:
            tick.say("reading the table", count)
        try:
            readings += of_row(_named(names, cells), instruments, booked, drawn)
        except Bad as fault:
            column = names.index(fault.name) + 1 if fault.name in names else 0
            bad.append(BadRow(line=line, column=column, name=fault.name, what=fault.what))
    name = hashlib.blake2b(content, digest_size=16).hexdigest()
    return Table(readings=tuple(readings), bad=tuple(bad), digest=name)


def of_row(
    cells: Cells, instruments: Instruments, booked: Labels = NOTHING, drawn: Drawn = undrawn
) -> list[Reading]:
    """Readings of one row: one, or with a weighing its masses and the density, or what a bar broke at.

    Raises
    ------
    Bad
        With the column and what is wrong with it.
    """
    cells = _checked(cells, booked)
    kind = cells["kind"]
    common = _common(cells)
    if kind == "dimension":
        of = dimension_rows.line(cells, drawn(cells["box"], cells["piece"]))
        instrument = _instrument(cells, instruments, of.quantity)
        value, _ = cell.value(cells, "value", of.quantity)
        doubts = (_alone(cells, instrument, of.quantity), _shared(instrument, value))
        return [dimension_rows.reading(of, (value, *doubts), common)]
    instrument = _instrument(cells, instruments)
    if kind == "weighing":
        alone = _alone(cells, instrument, "mass")
        return weighings.readings(cells, alone, instrument.u_shared if instrument else 0.0, common)
    if kind == "bending":
        alone, force = _alone(cells, instrument, "force"), cell.amount(cells, "force", "force") or 0.0
        return bending.readings(cells, alone, _shared(instrument, force), common)
    value, unit = cell.value(cells, "value", SIMPLE[kind])
    if value <= 0:
        raise Bad("value", f"this must be above 0, not {cells['value']!r}")
    nominal = cell.amount(cells, "nominal", SIMPLE[kind])
    alone, shared = _alone(cells, instrument, SIMPLE[kind]), _shared(instrument, value)
    measured = Reading(
        kind=kind,
        feature=cells.get("feature", ""),
        value=value,
        u=alone,
        u_shared=shared,
        unit=unit,
        nominal=nominal,
        **common,
    )
    return [measured]


def _checked(cells: Cells, booked: Labels) -> Cells:
    """A row that says of which piece it is, of which kind and in which state."""
    of_line = bool(cells.get("dimension"))
    if of_line:
        cells = {**cells, "kind": cells.get("kind") or "dimension", "state": cells.get("state") or "sintered"}
    for name in NEEDED:
        if not cells.get(name):
            empty = "dimension" if name == "kind" and "dimension" in cells else name
            raise Bad(empty, "this is empty")
    _check_piece(cells, booked)
    kind = cells["kind"]
    if of_line and kind != "dimension":
        raise Bad("kind", f"a row with a dimension is of kind dimension, not {kind!r}; leave this empty")
    if cells["state"] not in STATES:
        raise Bad("state", f"it is one of {', '.join(STATES)}, not {cells['state']!r}")
    if kind not in (*SIMPLE, *WORKED, "dimension"):
        raise Bad("kind", f"it is one of {', '.join((*SIMPLE, *WORKED, 'dimension'))}, not {kind!r}")
    return cells


def _check_piece(cells: Cells, booked: Labels) -> None:
    box, piece = cells["box"], cells["piece"]
    labels = booked.get(box, frozenset((piece,)))
    if piece in labels:
        return
    near = difflib.get_close_matches(piece, labels, n=1)
    remedy = f"did you mean {near[0]!r}?" if near else f"`sagger trace box {box}` lists its pieces"
    raise Bad("piece", f"box {box!r} holds no piece {piece!r}; {remedy}")


def _common(cells: Cells) -> RowFacts:
    for name in TEXTS:
        if len(cells.get(name, "")) > LONGEST:
            raise Bad(name, f"this is longer than {LONGEST} letters")
    axis, at_mm = cells.get("axis", ""), None
    if axis not in AXES:
        raise Bad("axis", f"it is x, y or z, not {axis!r}")
    if any(cells.get(name) for name in ("x_mm", "y_mm", "z_mm")):
        at_mm = (cell.number(cells, "x_mm"), cell.number(cells, "y_mm"), cell.number(cells, "z_mm"))
    return RowFacts(
        box=cells["box"],
        piece=cells["piece"],
        state=cells["state"],
        instrument=cells.get("instrument", ""),
        part=cells.get("part", ""),
        lot=cells.get("lot", ""),
        load=cells.get("load", ""),
        tray=cells.get("tray", ""),
        place=cells.get("place", ""),
        person=cells.get("person", ""),
        axis=axis,
        at_mm=at_mm,
        corrects=cell.whole(cells, "corrects"),
        taken=cell.moment(cells, "taken"),
    )


def _instrument(cells: Cells, instruments: Instruments, quantity: str = "") -> Instrument | None:
    """The instrument of a row, if it names one; `quantity` is what it must read, else the row's kind says."""
    name = cells.get("instrument", "")
    if name and name not in instruments:
        raise Bad("instrument", f"{name!r} is not entered; `sagger readings instrument` does that")
    instrument = instruments.get(name)
    reads = quantity or SAME.get(cells["kind"], cells["kind"])
    if instrument is not None and instrument.kind != reads:
        raise Bad("instrument", f"{name!r} reads {instrument.kind}, not {reads}")
    return instrument


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
    # of a hundred thousand rows: numpy's sum of two squares would take a tenth of reading them
    return math.hypot(instrument.u_shared, instrument.u_shared_relative * value)


def _text(path: Path) -> tuple[bytes, str]:
    content = texts.content(path, InputError, "the table")
    return content, texts.decoded(content, path.name, InputError, "the table")


def _rows(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Line numbers and cells, the heading first."""
    first = next((line for line in text.splitlines() if line.strip() and line[0] != "#"), "")
    sign = ";" if first.count(";") > first.count(",") else ","
    for line, cells in texts.rows(text, file, InputError, sign):
        if any(cells) and not cells[0].startswith("#"):
            yield line, [each.strip() for each in cells]


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
    needed = ("box", "piece", "dimension") if "dimension" in names else NEEDED
    missing = [name for name in needed if name not in names]
    if missing or len(set(names)) < len(names):
        what = f"column {missing[0]!r} is missing" if missing else "two columns have the same name"
        remedy = f"A heading needs {', '.join(needed)}; docs/readings.md shows all."
        raise InputError(what, file=file, field="heading", remedy=remedy)
