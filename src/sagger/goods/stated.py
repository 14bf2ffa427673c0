"""What an order states of a part's faces by hand: dimensions, tolerances, datums."""

from __future__ import annotations

from sagger.goods.good import good

Point = tuple[float, float, float]


@good
class StatedFace:
    """A face by kind, size and place, in the axes and the millimetres of the part file."""

    kind: str  # "bore", "pin" or "plane"
    diameter_mm: float  # 0 for planes
    at_mm: Point  # near the axis, or on the plane
    along: Point | None  # direction of the axis, or outward normal; None = any


@good
class StatedLimit:
    """Limits as they are written; `deviation` about the nominal size unless `kind` says otherwise.

    "between": from `lower` to `upper`. "grade": so many of ISO 286-1 (`letter`, `grade`). "general": a class
    of ISO 2768-1. "zone": the width of a tolerance zone, or the roughness that `letter` names, in `upper`.
    """

    kind: str  # "deviation", "between", "grade", "general" or "zone"
    lower: float = 0.0  # [mm], angles [deg]
    upper: float = 0.0
    letter: str = ""  # "H", "js", "IT", …; "Ra", "Rq" or "Rz"
    grade: str = ""  # "11", or "m"
    # what the tables of class or grade say by size, set by the desk
    steps: tuple[tuple[float, float, float], ...] = ()  # over mm, up to mm, ± [mm, deg]
    deviations: tuple[tuple[float, float, float, float], ...] = ()  # over, up to, lower, upper [mm]


@good
class StatedLine:
    """One dimension or tolerance."""

    name: str
    what: str  # "diameter", "distance", "flatness", …
    of: StatedFace | str  # a face, or the name of another line
    to: tuple[StatedFace | str, ...]  # the other end, or datum letters
    limit: StatedLimit
    size: str = "two-point"  # operator of a size (ISO 14405-1)
    zone: str = ""  # "", "round" or "sphere"
    material: str = ""  # "most", "least" or ""
    machined_mm: float | None = None  # stock that is cut off this face after sintering
    offset_mm: float | None = None  # its faces `of` are drawn so much further out of the material


@good
class StatedDatum:
    """A datum letter and its face."""

    name: str
    face: StatedFace


@good
class GeneralForm:
    """Form and place of every face without a tolerance of its own.

    `kind` is "iso2768" (class `grade`: H, K or L) or "profile" (a zone of `width_mm` about the drawn
    faces, seen from `datums`, as ISO 22081 has it).
    """

    kind: str
    grade: str = ""
    width_mm: float = 0.0
    datums: tuple[str, ...] = ()
    # iso2768, set by the desk: over mm, up to mm, full width [mm], by the longer and by the shorter side
    flatness: tuple[tuple[float, float, float], ...] = ()
    squareness: tuple[tuple[float, float, float], ...] = ()
    runout_mm: float = 0.0
