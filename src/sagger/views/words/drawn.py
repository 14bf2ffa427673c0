"""A drawing as it was read: a table of numbered lines, and what of it is not evaluated."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sagger.goods import balloon
from sagger.goods.drawing import Dimension, Drawing, GeometricTolerance
from sagger.views.wording import count, digits

HEAD = ("no.", "what", "limits", "datums", "used up by", "on faces", "evaluated")
SHOWN_FACES = 4
YES = "yes"
Line = Dimension | GeometricTolerance


class DrawnLine(NamedTuple):
    """One line of the drawing as a table shows it."""

    number: int  # as marked on the picture
    what: str
    limits: str
    datums: str
    used_up: str  # errors of lengths or edges that alone would use its tolerance up
    faces: str
    evaluated: str
    kind: str = ""  # what without its nominal value
    nominal: str = ""


def lines(drawing: Drawing) -> list[DrawnLine]:
    """Dimensions, then geometric tolerances, with their numbers."""
    return [_line(number, line) for number, line in balloon.numbered(drawing.dimensions, drawing.tolerances)]


def headline(drawing: Drawing) -> str:
    """How much was read, and how much of it is evaluated."""
    asked: tuple[Line, ...] = (*drawing.dimensions, *drawing.tolerances)
    counted = sum(line.evaluated for line in asked)
    letters = ", ".join(datum.name for datum in drawing.datums)
    return (
        f"drawing: {count(len(drawing.dimensions), 'dimension')}, "
        f"{count(len(drawing.tolerances), 'geometric tolerance')}, {count(len(drawing.datums), 'datum')}"
        f"{f' ({letters})' if letters else ''}; {counted} of {len(asked)} evaluated"
    )


def text(drawing: Drawing) -> Iterator[str]:
    """The table as lines of text, then what was lost of the file."""
    yield headline(drawing)
    rows: list[tuple[str, ...]] = [HEAD[:6]]
    rows += [(str(line.number), *map(str, line[1:6])) for line in lines(drawing)]
    widths = [max(len(row[column]) for row in rows) for column in range(6)]
    for row in rows:
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
    for reason in dict.fromkeys(line.evaluated for line in lines(drawing) if line.evaluated != YES):
        numbers = [str(line.number) for line in lines(drawing) if line.evaluated == reason]
        yield f"  not evaluated: {', '.join(numbers)} ({reason})"
    yield from (f"  lost: {sentence}" for sentence in drawing.lost)


def _line(number: int, line: Line) -> DrawnLine:
    evaluated = YES if line.evaluated else line.why or "no"
    if isinstance(line, Dimension):
        name = f"{line.name}, {line.kind}" if line.name else line.kind
        nominal = "" if line.nominal is None else f"{_figure(line.nominal)} {_unit(line)}"
        whole = " ".join(word for word in (name, nominal, line.fit) if word)
        told = (whole, _limits(line), "", _used_up(line), _faces(line), evaluated)
        return DrawnLine(number, *told, name + (f" {line.fit}" if line.fit else ""), nominal)
    width, datums, name = f"{_figure(line.width_mm)} mm", " ".join(line.datums), _zone(line)
    return DrawnLine(number, name, width, datums, _used_up(line), _faces(line), evaluated, name)


def _zone(line: GeometricTolerance) -> str:
    what = f"{line.name}, {line.kind}" if line.name else line.kind
    more = [line.zone, *line.modifiers]
    return " ".join([what, *(f"({word})" for word in more if word)])


def _limits(line: Dimension) -> str:
    if line.lower is None or line.upper is None:
        return line.fit or "none of its own"
    return f"{_figure(line.lower)} to {_figure(line.upper)} {_unit(line)}"


def _used_up(line: Line) -> str:
    lengths = "" if line.length_needed is None else f"lengths {digits(100 * line.length_needed, 2)} %"
    edges = "" if line.edge_needed_mm is None else f"edges {digits(1e3 * line.edge_needed_mm, 2)} µm"
    return ", ".join(word for word in (lengths, edges) if word)


def _unit(line: Dimension) -> str:
    return "°" if line.unit == "deg" else line.unit


def _faces(line: Line) -> str:
    if isinstance(line, GeometricTolerance) and line.whole:
        return "the whole part"
    ends = [line.faces, line.to] if isinstance(line, Dimension) and line.to else [line.faces]
    return " to ".join(_few(faces) for faces in ends) or "none"


def _few(faces: tuple[int, ...]) -> str:
    more = f" and {len(faces) - SHOWN_FACES} more" if len(faces) > SHOWN_FACES else ""
    return ", ".join(map(str, faces[:SHOWN_FACES])) + more


def _figure(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")
