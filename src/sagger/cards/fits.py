"""Tolerance classes of ISO 286-1: a letter for where limits lie, a grade for how wide.

Fundamental deviations of shafts and of J are looked up; holes follow from them by the standard's rule.
"""

from __future__ import annotations

import csv
from functools import cache

from sagger.cards.read import SHIPPED
from sagger.cards.standards import iso286
from sagger.errors import CardError

Limits = tuple[tuple[float, float, float, float], ...]  # over mm, up to mm, lower and upper deviation [mm]
LETTERS = (
    "a", "b", "c", "cd", "d", "e", "ef", "f", "fg", "g", "h", "js", "j", "k", "m", "n", "p", "r", "s", "t",
    "u", "v", "x", "y", "z", "za", "zb", "zc",
)  # fmt: skip
ABOVE = LETTERS[LETTERS.index("k") :]  # shafts that lie above nominal, holes below
WITH_GRADE_8, WITH_GRADE_7 = ("k", "m", "n"), LETTERS[LETTERS.index("p") :]  # holes raised up to that grade
LAST = 3.0  # mm: up to it no hole is raised
EDITION = "ISO 286-1, from memory: defer to the standard, edition in force"


def deviations(letter: str, grade: str) -> Limits:
    """Lower and upper deviation of a class by step of nominal size, up to 500 mm.

    Parameters
    ----------
    letter : str
        "A" … "ZC" of holes, "a" … "zc" of shafts, "JS", "js"; "IT" for the width alone, half to each side.
    grade : str
        "3" … "18".

    Raises
    ------
    CardError
        If letter or grade is unknown, or the standard has no such class.

    Source
    ------
    ISO 286-1: table of standard tolerances (IT5 to IT14 read in reproductions, others from memory), table of
    fundamental deviations of shafts from memory, held against the standard's formulas. Holes: EI = -es for A
    to H; ES = -ei + D for K, M, N up to IT8 and P to ZC up to IT7, D = IT(n) - IT(n-1), no D up to 3 mm;
    ES = -ei beyond, N nothing (memory).
    """
    lower, step_rows = letter.lower(), _grade(grade)
    if letter in ("IT", "js", "JS"):
        return tuple((over, to, -width / 2, width / 2) for over, to, width in step_rows)
    if lower not in LETTERS or letter not in (lower, letter.upper()):
        known = ", ".join(LETTERS)
        remedy = f"Known: {known}, the same in capitals for holes, and IT."
        raise CardError("ISO 286-1 has no such letter", field="class", value=letter, remedy=remedy)
    made = []
    for row in _rows("iso286_deviations.csv"):
        over, to = float(row["over_mm"]), float(row["up_to_mm"])
        ends = _ends((letter, int(grade)), row, to)
        if ends is not None:
            made.append((over, to, *ends))
    if not made:
        remedy = "Take a class that is in use, or write the limits out."
        raise CardError("no such class is in use", field="class", value=letter + grade, remedy=remedy)
    return tuple(made)


def _ends(named: tuple[str, int], row: dict[str, str], to: float) -> tuple[float, float] | None:
    """Deviations of a class at the step that ends at `to` [mm]; None if it has none there."""
    letter, grade = named
    shaft, width = letter.islower(), _width(grade, to)
    lower = letter.lower()
    if lower == "j":
        printed = row.get(f"{letter}{grade}") or ""
        if not printed:
            return None
        near = float(printed) / 1e3
        return (near, near + width) if shaft else (near - width, near)
    if not row[lower]:
        return None
    base = float(row[lower]) / 1e3
    if lower == "k" and shaft and not (4 <= grade <= 7 and to > LAST):
        base = 0.0
    if lower not in ABOVE:
        return (base - width, base) if shaft else (-base, -base + width)
    if shaft:
        return base, base + width
    top = _hole_top(lower, grade, to, base)
    return None if top is None else (top - width, top)


def _hole_top(lower: str, grade: int, to: float, base: float) -> float | None:
    """Upper deviation of a hole that lies below nominal [mm]."""
    raised = (lower in WITH_GRADE_8 and grade <= 8) or (lower in WITH_GRADE_7 and grade <= 7)
    if lower == "k" and grade > 8:
        return 0.0 if to <= LAST else None
    if lower == "n" and grade > 8 and to > LAST:
        return 0.0
    if (lower, grade, to) in (("m", 6, 280.0), ("m", 6, 315.0)):
        return -0.009  # the standard's own exception
    more = _width(grade, to) - _width(grade - 1, to) if raised and to > LAST else 0.0
    return -base + more


def _width(grade: int, to: float) -> float:
    return next(width for over, up_to, width in _grade(str(grade)) if over < to <= up_to)


@cache
def _grade(grade: str) -> tuple[tuple[float, float, float], ...]:
    """Over, up to, width of one standard tolerance grade [mm]."""
    rows, more, name = iso286(), _rows("iso286_more.csv"), f"IT{grade}"
    if name in rows[0].width_mm:
        return tuple((row.over_mm, row.up_to_mm, row.width_mm[name]) for row in rows)
    if name not in more[0]:
        known = sorted(int(key[2:]) for key in (*rows[0].width_mm, *more[0]) if key.startswith("IT"))
        remedy = f"Known: IT{known[0]} to IT{known[-1]}."
        raise CardError("there is no such grade", field="class", value=name, remedy=remedy)
    return tuple((float(row["over_mm"]), float(row["up_to_mm"]), float(row[name]) / 1e3) for row in more)


@cache
def _rows(name: str) -> list[dict[str, str]]:
    with (SHIPPED / "tolerances" / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
