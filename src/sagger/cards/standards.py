"""Tables that a standard prints: tolerances and sieves. Looked up, never computed."""

from __future__ import annotations

import csv
from typing import NamedTuple

from sagger.cards.read import SHIPPED
from sagger.errors import CardError

GRADES_2768, GRADES_2768_2 = ("f", "m", "c", "v"), ("H", "K", "L")
Steps = tuple[tuple[float, float, float], ...]


class Grades(NamedTuple):
    """One step of nominal size and its standard tolerances, full width [mm]."""

    over_mm: float
    up_to_mm: float
    width_mm: dict[str, float]  # "IT5" … "IT14"
    standing: str


class Sieve(NamedTuple):
    number: int  # of the sieve; 0 = the pan below the last one
    value: float  # opening [m], or AFS multiplier [-]
    standing: str


def iso2768(grade: str) -> Steps:
    """Steps of a general tolerance class: (over, up to and including, ±), all in mm.

    Steps for which the standard gives no value are left out; below 0.5 mm a tolerance must stand at the
    dimension itself.

    Raises
    ------
    CardError
        If the class is not f, m, c or v.

    Source
    ------
    ISO 2768-1, linear dimensions, from public reproductions (sources.toml, iso2768).
    """
    return _class_of("tolerances/iso2768.csv", grade, GRADES_2768)


def iso2768_angles(grade: str) -> Steps:
    """Steps of a general tolerance of angles by the shorter side: (over mm, up to mm, ± degrees).

    Source
    ------
    ISO 2768-1, angular dimensions, from memory: defer to the standard, edition in force.
    """
    minutes = _class_of("tolerances/iso2768_angles.csv", grade, GRADES_2768)
    return tuple((over, to, half / 60) for over, to, half in minutes)


def iso2768_edges(grade: str) -> Steps:
    """Steps of a general tolerance of broken edges, outside radii and heights of chamfers, all in mm.

    Source
    ------
    ISO 2768-1, external radii and chamfer heights, from memory: defer to the standard, edition in force.
    """
    return _class_of("tolerances/iso2768_edges.csv", grade, GRADES_2768)


def iso2768_form(kind: str, grade: str) -> Steps:
    """Steps of a general geometric tolerance by length: (over, up to and including, full width), all in mm.

    Parameters
    ----------
    kind : str
        "flatness" (also straightness, by the longer side), "perpendicularity" (by the shorter side) or
        "runout" (one value for all lengths).
    grade : str
        "H", "K" or "L".

    Source
    ------
    ISO 2768-2, from memory. That standard is withdrawn in favour of ISO 22081, which has no table: agree with
    the customer, defer to the edition that the drawing names.
    """
    return _class_of("tolerances/iso2768_form.csv", grade, GRADES_2768_2, kind)


def _class_of(name: str, grade: str, known: tuple[str, ...], kind: str = "") -> Steps:
    if grade not in known:
        number = 2 if known is GRADES_2768_2 else 1
        remedy = f"One of: {', '.join(known)}."
        raise CardError(f"ISO 2768-{number} has no such class", field="grade", value=grade, remedy=remedy)
    return tuple(
        (float(row["over_mm"]), float(row["up_to_mm"]), float(row[grade]))
        for row in _rows(name)
        if row[grade] and row.get("what", kind) == kind
    )


def iso286() -> tuple[Grades, ...]:
    """Standard tolerance grades IT5 to IT14 by step of nominal size (over … up to and including), to 500 mm.

    Source
    ------
    ISO 286-1, from public reproductions (sources.toml, iso286); steps above 315 mm from memory.
    """
    rows = _rows("tolerances/iso286.csv")
    return tuple(
        Grades(
            over_mm=float(row["over_mm"]),
            up_to_mm=float(row["up_to_mm"]),
            width_mm={grade: float(width) / 1000 for grade, width in row.items() if grade.startswith("IT")},
            standing=row["standing"],
        )
        for row in rows
    )


def sieves() -> tuple[Sieve, ...]:
    """Nominal openings [m] by sieve number, coarse to fine (ASTM E11, sources.toml, astme11)."""
    rows = _rows("grains/sieves.csv")
    return tuple(Sieve(int(row["number"]), float(row["opening_um"]) * 1e-6, row["standing"]) for row in rows)


def afs() -> tuple[Sieve, ...]:
    """Multipliers of the grain fineness number by sieve on which the sand stays; 0 is the pan (afs)."""
    rows = _rows("grains/afs.csv")
    return tuple(Sieve(int(row["number"]), float(row["multiplier"]), row["standing"]) for row in rows)


def _rows(name: str) -> list[dict[str, str]]:
    with (SHIPPED / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
