"""Pictures of a part with the numbers of its drawing: circles in the margins, lines to the faces."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from PIL import Image, ImageDraw, ImageFont

from sagger.goods.part import Part
from sagger.views.pictures.anchors import Anchors, PartSide, ShownAnchor, anchors, eye, sides
from sagger.views.pictures.bed import png
from sagger.views.pictures.camera import NOBODY, expose

WIDE, SMALL = (820, 940), (360, 400)  # pixels across and high for the part, beside margins for circles
SMALL_MOST = 6  # circles one above the other beside a small part
LEAST_MARGIN = 150  # so that circles of all pictures are about as large
ROUND = 42  # height of a circle
APART = 6  # between circles
LETTERS = 20  # size of the numbers
SIDE_MOST = 16  # circles one above the other
FINER = 2
PALE = 0.3  # of the part's tone stays where no light falls: lines must be seen on it
_PAPER, _INK, _PART, _LINE = (255, 255, 255), (30, 34, 42), (205, 212, 222), (176, 60, 0)
Box = tuple[float, float, float, float]


class Mark(NamedTuple):
    """A number in its circle, and the place it points at; pixels of the picture."""

    number: str
    box: Box  # left, top, right, bottom
    at: tuple[float, float]
    hidden: bool


class Shot(NamedTuple):
    """One picture."""

    png: bytes
    marks: list[Mark]
    wide: bool  # for the width of a page, else for half of it


class Marked(NamedTuple):
    """Pictures in which every number stands once, and the numbers that no face shows."""

    pictures: list[Shot]
    known: Anchors


def marked(part: Part) -> Marked:
    """A part from as few sides as show every feature of its drawing, each with the numbers of its lines."""
    known = anchors(part)
    shown = sides(part, known.marked, 2 * SIDE_MOST)
    return Marked([_drawn(part, side) for side in shown], known)


def caption(shown: Marked) -> str:
    """What stands below the pictures."""
    words = ["Numbers are those of the drawing's table; 7.2 is the second feature of line 7."]
    if any(mark.hidden for shot in shown.pictures for mark in shot.marks):
        words.append("Rings stand where a face is hidden.")
    if shown.known.whole:
        words.append(f"Of the whole part: {', '.join(shown.known.whole)}.")
    if shown.known.unknown:
        words.append(f"On no face that is known: {', '.join(shown.known.unknown)}.")
    return " ".join(words)


def _drawn(part: Part, side: PartSide) -> Shot:
    wide = len(side.seen) > 2 * SMALL_MOST
    across, high = WIDE if wide else SMALL
    look = eye(part, side[:2], across * FINER, high * FINER, 8 * FINER)
    film = expose(look, [(part.shape.vertices, part.shape.triangles)])
    paper = np.full((look.rows, look.columns, 3), _PAPER, np.uint8)
    seen = film.owner != NOBODY
    shade = PALE + (1 - PALE) * film.shade[seen, None]
    paper[seen] = (np.array(_PART) * shade).astype(np.uint8)
    margin = max(LEAST_MARGIN, *(_wide(one.numbers) + 24 for one in side.seen))
    marks = _placed(side.seen, look.columns / FINER, look.rows / FINER, margin)
    rows = max(look.rows, int(FINER * (max(mark.box[3] for mark in marks) + APART)))
    sheet = Image.new("RGB", (round(across + 2 * margin) * FINER, rows), _PAPER)
    sheet.paste(Image.fromarray(paper), (round(margin) * FINER, 0))
    pen = ImageDraw.Draw(sheet)
    for mark in marks:
        _lead(pen, mark, marks)
    for mark in marks:
        _circle(pen, mark)
    return Shot(png(sheet.reduce(FINER)), marks, wide)


def _placed(seen: list[ShownAnchor], columns: float, rows: float, margin: float) -> list[Mark]:
    """Circles in two columns, in the order of the heights of what they point at."""
    at = np.array([one.at for one in seen]).reshape(-1, 2) * (columns, rows) + (margin, 0)
    marks = []
    for right, group in enumerate(_halves(at[:, 0], margin + columns / 2)):
        down = sorted(group, key=lambda n: (float(at[n, 1]), float(at[n, 0])))
        start = margin + columns + 10.0 if right else margin - 10.0
        for n, top in zip(down, _heights(at[down, 1], rows), strict=True):
            marks += _row(seen[n], at[n], (start, float(top)), bool(right))
    return marks


def _halves(across: ndarray, middle: float) -> tuple[list[int], list[int]]:
    """Which circles stand left and right: on their own side, else in equal halves."""
    order = np.argsort(across, kind="stable").tolist()
    half = int((across < middle).sum())
    if max(half, len(order) - half) > SIDE_MOST:
        half = len(order) // 2
    return order[:half], order[half:]


def _heights(wanted: ndarray, rows: float) -> ndarray:
    """Tops of circles, as near the heights wanted as they can be without standing on one another."""
    step, count = ROUND + APART, len(wanted)
    tops = np.asarray(wanted, dtype=float) - ROUND / 2
    for n in range(count):
        tops[n] = max(tops[n], tops[n - 1] + step if n else APART)
    low = max(rows, count * step + APART) - ROUND - APART
    for n in range(count - 1, -1, -1):
        tops[n] = min(tops[n], tops[n + 1] - step if n < count - 1 else low)
    return tops


def _row(one: ShownAnchor, at: ndarray, start: tuple[float, float], right: bool) -> list[Mark]:
    """The circles of one feature side by side, the first next to the part."""
    (x, top), marks = start, []
    for number in one.numbers:
        left = x if right else x - _wide([number])
        box = (left, top, left + _wide([number]), top + ROUND)
        marks.append(Mark(number, box, (float(at[0]), float(at[1])), one.hidden))
        x += (_wide([number]) + APART) * (1 if right else -1)
    return marks


def _wide(numbers: list[str]) -> float:
    """Width of circles side by side [pixels]."""
    each_one = [max(ROUND, _font().getlength(number) / FINER + 14) for number in numbers]
    return sum(each_one) + APART * (len(numbers) - 1)


def _lead(pen: ImageDraw.ImageDraw, mark: Mark, marks: list[Mark]) -> None:
    """A line from the first circle of a row to the face, with a dot there; hidden faces have a ring."""
    row = [other for other in marks if other.at == mark.at and other.box[1] == mark.box[1]]
    if mark is not row[0]:
        return
    x, y = mark.at
    from_x = mark.box[2] if mark.box[0] < x else mark.box[0]
    middle = (mark.box[1] + mark.box[3]) / 2
    ends = [(from_x * FINER, middle * FINER), (x * FINER, y * FINER)]
    pen.line(ends, fill=_PAPER, width=4 * FINER)
    pen.line(ends, fill=_LINE, width=2 * FINER - 1)
    dot = [(x - 4) * FINER, (y - 4) * FINER, (x + 4) * FINER, (y + 4) * FINER]
    pen.ellipse(dot, fill=_PAPER if mark.hidden else _LINE, outline=_LINE, width=FINER)


def _circle(pen: ImageDraw.ImageDraw, mark: Mark) -> None:
    box = [side * FINER for side in mark.box]
    pen.rounded_rectangle(box, radius=ROUND * FINER // 2, fill=_PAPER, outline=_INK, width=2 * FINER)
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    pen.text(middle, mark.number, fill=_INK, font=_font(), anchor="mm")


def _font() -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size=LETTERS * FINER)
