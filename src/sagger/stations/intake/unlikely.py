"""Findings about the unit of a part file, and about sizes that nobody means."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sagger import units
from sagger.geometry.surface import mesh
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure, cited
from sagger.goods.finding import Against, Finding, loss, ok, stop
from sagger.goods.order import Request
from sagger.goods.shape import PartFile, Shape

HUGE = 5.0  # times the box's longest side: no part that is too large by accident; judgement, no source
SPELT = {"in": "inches", "um": "µm"}
OTHERS = ("um", "mm", "in", "m")  # units that a size is read in when it is questioned


def size(request: Request, file: PartFile, body: Shape, cell: Cell) -> Iterator[Finding]:
    """Whether the unit was known, how large the part is with it, and whether a workshop can mean that."""
    lengths = np.asarray(mesh.extent(body))
    scaled = "" if request.scale == 1 else f", scaled by {request.scale:g} as ordered"
    if file.unit_from == "assumed":
        yield _assumed(file.unit, lengths, scaled)
    elif file.unit_from == "file" and request.unit not in ("", file.unit):
        yield _contradicted(request.unit, file.unit, f"{_product(lengths)}{scaled}", lengths)
    else:
        text = f"The part is {_product(lengths)} (unit {file.unit} from the {file.unit_from}{scaled})."
        yield ok("unit", text)
    yield from _unlikely(file, lengths, cell)


def senseless(body: Shape, cell: Cell) -> bool:
    """Whether a body is far larger than the box, or smaller as a whole than the least wall of the powder."""
    longest = float(np.max(mesh.extent(body)))
    return longest < cell.powder.least_wall.value * 1e3 or longest > HUGE * _side(cell).value * 1e3


def too_small(body: Shape, cell: Cell) -> Iterator[Finding]:
    """That nothing of a body can be printed, if its longest side is shorter than the least wall."""
    longest, wall = float(np.max(mesh.extent(body))), cell.powder.least_wall
    if longest < wall.value * 1e3:
        text = f"All of the part, {longest:.3g} mm long, is smaller than a wall of {cell.powder.name} can be."
        remedy = "Ask for the size; then say the unit, or scale = …, in the order."
        yield stop("thin wall", text, Against(longest, wall.value * 1e3, "mm", cited(wall)), remedy)


def _side(cell: Cell) -> Figure:
    """Longest side of the box."""
    sides = (cell.box.length_x, cell.box.length_y, cell.box.length_z)
    return max(sides, key=lambda figure: figure.value)


def _assumed(unit: str, lengths: np.ndarray, scaled: str) -> Finding:
    other, word = ("in", "inches") if unit == "mm" else ("mm", "millimetres")
    text = (
        f"The file names no unit; {unit} was assumed, which makes the part {_product(lengths)}{scaled}. "
        f"Read in {word} it would be {_product(lengths * _ratio(other, unit))}."
    )
    remedy = f'Say the unit in the order: unit = "{unit}" or unit = "{other}".'
    return loss("unit", text, Against(value=float(lengths.max()), unit="mm"), remedy)


def _contradicted(ordered: str, unit: str, size: str, lengths: np.ndarray) -> Finding:
    text = f"The order says {ordered}, the file itself says {unit}: the part is {size}."
    remedy = f'Leave unit out, or write unit = "{unit}"; ask the customer if the size is wrong.'
    return loss("unit", text, Against(value=float(lengths.max()), unit="mm"), remedy)


def _unlikely(file: PartFile, lengths: np.ndarray, cell: Cell) -> Iterator[Finding]:
    """A part that is smaller than the thinnest wall, or far larger than the box."""
    longest, wall, box, side = float(lengths.max()), cell.powder.least_wall, cell.box, _side(cell)
    if longest < wall.value * 1e3:
        least = f"the least wall of {cell.powder.name}"
        yield _questioned(file, lengths, Against(longest, wall.value * 1e3, "mm", cited(wall)), least)
    elif longest > HUGE * side.value * 1e3:
        room = f"{HUGE:g} times the longest side of the box {box.name}"
        yield _questioned(file, lengths, Against(longest, HUGE * side.value * 1e3, "mm", cited(side)), room)


def _questioned(file: PartFile, lengths: np.ndarray, against: Against, beside: str) -> Finding:
    small = float(against.value or 0) < float(against.limit or 0)
    way = "smaller" if small else "larger"
    read = units.unit(file.unit).factor if file.unit in OTHERS else units.unit("mm").factor
    tried = [unit for unit in OTHERS if (units.unit(unit).factor > read) == small and unit != file.unit]
    words = "; ".join(
        f"in {SPELT.get(unit, unit)} {_product(lengths * units.unit(unit).factor / read)}" for unit in tried
    )
    text = f"The part is {_product(lengths)}, {way} than {beside} ({against.limit:.4g} mm). Is that meant?"
    more = f" Read {words}." if words else ""
    remedy = "Ask for the size; then say the unit, or scale = …, in the order."
    return loss("size", text + more, against, remedy)


def _ratio(other: str, unit: str) -> float:
    return units.unit(other).factor / units.unit(unit).factor


def _product(lengths: np.ndarray) -> str:
    return " x ".join(f"{length:.4g}" for length in lengths) + " mm"
