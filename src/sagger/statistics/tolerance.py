"""What a general tolerance allows, and which grade a width amounts to; tables come in as arguments."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from scipy.special import ndtri

from sagger.errors import LawError, OrderError
from sagger.goods.order import Tolerance
from sagger.goods.stated import StatedLimit

GUARD = 1.65  # standard uncertainties: one-sided 95 % (ISO 14253-1, from memory)
LEAST_MM = 0.5  # below it ISO 2768-1 (clause 4, table 1) wants the tolerance stated at the dimension itself

Steps = Sequence[tuple[float, float, float]]  # over, up to and including, ± [mm]
Row = Sequence[Any]  # over mm, up to and including mm, {grade: full width mm}, ...


def band(nominal_mm: float, steps: Steps) -> float | None:
    """Half width that a general tolerance allows at a size [mm]; None where it gives none.

    Parameters
    ----------
    nominal_mm : float
        [mm]
    steps : sequence of (over, up to, ±)
        One class of the table [mm]; upper ends are included. Cells without a value are left out.

    Source
    ------
    ISO 2768-1:1989, table 1.
    """
    for over, to, half in steps:
        if over < nominal_mm <= to or nominal_mm == over == LEAST_MM:
            return half
    return None


def half_width_mm(nominal_mm: float, asked: Tolerance) -> float | None:
    """Half width of what is asked at a size [mm]; None where a general tolerance gives none.

    Raises
    ------
    OrderError
        If the kind of tolerance is unknown.
    """
    if asked.kind == "mm":
        return asked.value
    if asked.kind == "percent":
        return asked.value / 100 * nominal_mm
    if asked.kind == "iso2768":
        return band(nominal_mm, asked.steps)
    raise OrderError(
        "no such kind of tolerance", field="tolerance", value=asked.kind, remedy="mm, percent or iso2768."
    )


def ends(nominal: float, limit: StatedLimit, along: float | None = None) -> tuple[float, float]:
    """Least and largest value of a dimension whose limits are stated.

    Parameters
    ----------
    nominal : float
        [mm], angles [deg].
    limit : StatedLimit
        With the steps of its table, if its kind needs one.
    along : float, optional
        Length by which a general tolerance of an angle is looked up [mm].

    Raises
    ------
    OrderError
        If the table has no step for this size.

    Source
    ------
    ISO 286-1 and ISO 2768-1, as looked up.
    """
    if limit.kind == "between":
        return limit.lower, limit.upper
    if limit.kind == "zone":
        return 0.0, limit.upper
    if limit.kind == "deviation":
        return nominal + limit.lower, nominal + limit.upper
    if limit.kind == "grade":
        for over, to, lower, upper in limit.deviations:
            if over < nominal <= to:
                return nominal + lower, nominal + upper
    elif (half := band(nominal if along is None else along, limit.steps)) is not None:
        return nominal - half, nominal + half
    remedy = 'Write its limits out, such as "±0.1 mm".'
    raise OrderError("the table has no step for this size", field="limit", value=nominal, remedy=remedy)


def guarded(value: float, u: float, lower: float, upper: float, factor: float = GUARD) -> str:
    """What may be said of a reading against two limits: "conforms", "does not conform" or "undecided".

    Parameters
    ----------
    value, u : float
        Reading and its standard uncertainty, in the unit of the limits.
    factor : float
        Guard band in standard uncertainties; 1.65 leaves one in twenty wrong at the limit.

    Source
    ------
    ISO 14253-1: conformity is shown only inside the limits less the guard band, nonconformity only outside
    the limits and the guard band.
    """
    guard = factor * u
    if lower + guard <= value <= upper - guard:
        return "conforms"
    return "does not conform" if value < lower - guard or value > upper + guard else "undecided"


def stock(chip: float, bow: float, u: float, sure: float) -> float:
    """What to leave on a face that is cut, so that the cut takes hold all over with chance `sure`.

    Parameters
    ----------
    chip : float
        Least depth of the cut.
    bow : float
        How far the face is off flat.
    u : float
        Standard uncertainty of where it lies; all three in one unit.
    sure : float
        Chance asked for, between 0 and 1.

    Source
    ------
    Quantile of the normal distribution: P(stock - bow + place >= chip) = sure.
    """
    if not 0 < sure < 1 or min(chip, bow, u) < 0:
        raise LawError(f"a chance and lengths were expected, got {sure:g} and {chip:g}, {bow:g}, {u:g}")
    return chip + bow + max(float(ndtri(sure)), 0.0) * u


def it_grade(width_mm: float, nominal_mm: float, rows: Iterable[Row]) -> str | None:
    """Finest standard grade that holds a full width at a size, such as "IT9"; None if the table ends before.

    Parameters
    ----------
    width_mm, nominal_mm : float
        Full width of a scatter or band, and the size it belongs to [mm].
    rows : iterable of (over mm, up to mm, {grade: full width mm}, ...)
        The table of standard tolerances; upper ends are included.

    Raises
    ------
    LawError
        If no row covers the size.

    Source
    ------
    ISO 286-1, table of standard tolerances: to be looked up, not computed.
    """
    for over, to, widths, *_ in rows:
        if over < nominal_mm <= to:
            enough = [(width, grade) for grade, width in widths.items() if width >= width_mm * (1 - 1e-9)]
            return min(enough)[1] if enough else None
    raise LawError(f"the table of standard tolerances has no step for {nominal_mm:g} mm")
