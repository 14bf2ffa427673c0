"""Faces that were clicked on: what may be asked of them, the lines that say so, and their list."""

from __future__ import annotations

import string
from collections.abc import Sequence

from markupsafe import Markup

from sagger.errors import InputError
from sagger.files.order_stated import ENDS, FORMS
from sagger.goods.drawing import Drawing
from sagger.goods.picked import DrawnHere, PickedFace
from sagger.goods.plain import Table, rows, text
from sagger.views.words import drawn as drawn_words
from sagger.views.words.drawn import YES, DrawnLine
from sagger.web import markup

SIZES = ("diameter", "radius", *ENDS)
ROUND_ZONES = ("position", "perpendicularity", "parallelism", "concentricity")
SUCH_AS = {
    "angle": "such as ±0.5 deg",
    "form": "width of the zone, such as 0.1 mm",
    "size": "such as ±0.1 mm, +0.2 mm 0 mm, H11 or ISO 2768-m",
}
LETTERS = string.ascii_uppercase
NOTHING_ASKED = (
    "Click a face of the part, or turn the part until the face lies under the cross and press Enter."
)


def hint(question: str) -> str:
    """What stands under the field of a limit."""
    return SUCH_AS.get(question) or SUCH_AS["size" if question in SIZES else "form"]


def added(lines: Table, faces: Sequence[PickedFace], line: Table) -> Table:
    """The lines of a part with one more, and the datum that it is seen from.

    Parameters
    ----------
    lines : mapping
        [[part.datum]] and [[part.dimension]] tables so far.
    faces : sequence of PickedFace
        One or two.
    line : mapping
        `what`, `limit` and `name`; the faces are put in here.
    """
    question, datums = text(line, "what"), rows(lines, "datum")
    made: Table = {"what": question, "of": faces[0].stated, "limit": text(line, "limit").strip()}
    if text(line, "name").strip():
        made["name"] = text(line, "name").strip()
    if question in ENDS:
        made["to"] = [face.stated for face in faces[1:]]
    elif question not in (*SIZES, *FORMS) and len(faces) > 1:
        letter, datums = _datum(datums, faces[1].stated)
        made["to"] = [letter]
    if question in ROUND_ZONES and not faces[0].stated.startswith("plane"):
        made["zone"] = "round"
    return {"datum": [*datums], "dimension": [*rows(lines, "dimension"), made]}


def without(lines: Table, place: int) -> Table:
    """The lines without one of them (from 0), nor the datums that nothing is seen from any more."""
    left = [line for at, line in enumerate(rows(lines, "dimension")) if at != place]
    gone = set(_seen_from(rows(lines, "dimension"))) - set(_seen_from(left))
    datums = [datum for datum in rows(lines, "datum") if text(datum, "name") not in gone]
    return {"datum": [*datums], "dimension": [*left]}


def listed(lines: Table) -> list[str]:
    """Each line in words."""
    faces = {text(datum, "name"): text(datum, "face") for datum in rows(lines, "datum")}
    return [_words(line, faces) for line in rows(lines, "dimension")]


def table(drawn: DrawnHere) -> Markup:
    """The drawing as it was read, a row a line; the number of a row is a button that shows its faces."""
    if not drawn.rows:
        return Markup("<p>Nothing is asked of the faces of this part yet.</p>")
    lines = [DrawnLine(int(row[0]), *row[1:]) for row in drawn.rows]
    head = ("No.", "What", "Nominal", "Limits", "Datums", "Faces", "Evaluated")
    button = Markup(
        '<button type="button" data-line="{0}" aria-label="Show the faces of line {0}">{0}</button>'
    )
    body = [
        (
            button.format(line.number),
            line.kind,
            line.nominal,
            line.limits,
            line.datums,
            line.faces,
            _evaluated(line),
        )
        for line in lines
    ]
    return Markup("<h2>The drawing as it was read</h2>{}").format(
        markup.table(head, body, "The drawing as it was read", numbers=(0, 2))
    )


def of_drawing(drawing: Drawing | None) -> Markup:
    """The drawing of a part whose faces cannot be shown, as a table."""
    told = () if drawing is None else tuple(tuple(map(str, line)) for line in drawn_words.lines(drawing))
    return table(DrawnHere(rows=told, facets=()))


def _evaluated(line: DrawnLine) -> str:
    return YES if line.evaluated == YES else f"no: {line.evaluated}"


def part_row(row: Table, lines: Table) -> Table:
    """The [[part]] table that holds these lines, by itself, as the order would be read."""
    shown = {
        key: value
        for key, value in row.items()
        if key not in ("datum", "dimension") and value not in ("", None)
    }
    whole: Table = {"file": "part", "quantity": 1, "tolerance": "2 %"}
    lists: Table = {key: [*rows(lines, key)] for key in ("datum", "dimension") if rows(lines, key)}
    return whole | shown | lists


def refusal(error: InputError) -> str:
    """What stands beside the field of the limit when a line was refused."""
    value = f" (got {error.value!r})" if isinstance(error.value, str) and error.value else ""
    remedy = error.remedy if "docs/" not in error.remedy else ""  # a field has its own hint
    return f"{error.what}{value}. {remedy}".strip().replace('"', "'")


def _words(line: Table, faces: dict[str, str]) -> str:
    ends = line.get("to")
    to = [str(end) for end in ends] if isinstance(ends, list) else []
    seen = [f"{end} ({faces[end]})" if end in faces else end for end in to]
    name = f"{text(line, 'name')}: " if text(line, "name") else ""
    to_words = f" to {', '.join(seen)}" if seen else ""
    return f"{name}{text(line, 'what')} of {text(line, 'of')}{to_words}: {text(line, 'limit')}"


def _datum(datums: list[Table], stated: str) -> tuple[str, list[Table]]:
    """The letter of a datum on this face, a new one if there is none."""
    for datum in datums:
        if text(datum, "face") == stated:
            return text(datum, "name"), datums
    used = {text(datum, "name") for datum in datums}
    letter = next((letter for letter in LETTERS if letter not in used), "")
    if not letter:
        raise InputError("all letters of datums are used", remedy="Take a line out that needs one.")
    return letter, [*datums, {"name": letter, "face": stated}]


def _seen_from(lines: list[Table]) -> list[str]:
    ends = [line.get("to") for line in lines]
    return [str(end) for to in ends if isinstance(to, list) for end in to]
