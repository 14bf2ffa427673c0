"""What a drawing asks of a part: dimensions with limits, geometric tolerances, datums, each tied to faces."""

from __future__ import annotations

from sagger.goods.good import SHARE, good, holds

Point = tuple[float, float, float]


@good
class ExactFace:
    """One face of the exact shape."""

    number: int  # from 0, in the order in which the file lists the faces of its shells
    kind: str  # "plane", "cylinder", "cone", "sphere", "torus"; "other" for free-form ones
    at_mm: Point  # a point of a plane, a point on an axis, a centre
    along: Point  # normal of a plane's surface, direction of an axis
    radius_mm: float  # 0 for planes and free-form faces
    outward: (
        bool  # whether material lies behind the surface's own normal: a cylinder so is a pin, else a bore
    )
    solid: bool  # whether it bounds a solid; False on a free sheet, which is construction


@good
class Dimension:
    """A size, distance or angle with its limits."""

    name: str = holds("what the order calls it; empty for those of a file")
    # "diameter", "radius", "distance", "angle", "thickness", or as the file calls it
    kind: str = holds("diameter, radius, distance, angle, thickness, or as the file calls it")
    nominal: float | None = holds("in its unit; null where the file gives none")
    lower: float | None  # None where the drawing gives no limits of its own
    upper: float | None
    unit: str = holds("of nominal and limits", one_of=("mm", "deg"))
    fit: str = holds("class after ISO 286, such as H7; empty = none")
    faces: tuple[int, ...] = holds("numbers of the faces that it is of")
    to: tuple[int, ...] = holds("numbers of the faces at its other end")
    notes: tuple[str, ...] = holds("what is said of it in words")
    machined_mm: float | None = holds("stock cut off after sintering; null: none", "mm", default=None)
    offset_mm: float | None = holds(
        "its own faces are drawn so much further out of the material; null: as drawn", "mm", default=None
    )
    # these two are None where its tolerance does not hang on lengths, or on edges
    length_needed: float | None = holds("error of all lengths that uses it up", SHARE, default=None)
    edge_needed_mm: float | None = holds("error of all edges that uses it up", "mm", default=None)
    evaluated: bool = holds("whether the promise counts it", default=False)
    why: str = holds("why it is not evaluated", default="")

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Least and largest value."""
        return self.lower, self.upper


@good
class GeometricTolerance:
    """A tolerance of form, orientation, place, profile or runout."""

    kind: str = holds("flatness, position, surface profile and so on")
    width_mm: float = holds("of its zone", "mm")
    zone: str = holds("of another form than between planes", one_of=("", "round", "sphere"))
    datums: tuple[str, ...] = holds("in order; A-B is common, (M) after a letter its modifier")
    modifiers: tuple[str, ...] = holds("what changes it, in words")
    faces: tuple[int, ...] = holds("numbers of the faces that it is of")
    whole: bool = holds("whether it holds for the whole part")
    machined_mm: float | None = holds("stock cut off after sintering; null: none", "mm", default=None)
    name: str = holds("what the order calls it; empty for those of a file", default="")
    # these two are None where its tolerance does not hang on lengths, or on edges
    length_needed: float | None = holds("error of all lengths that uses it up", SHARE, default=None)
    edge_needed_mm: float | None = holds("error of all edges that uses it up", "mm", default=None)
    evaluated: bool = holds("whether the promise counts it", default=False)
    why: str = holds("why it is not evaluated", default="")

    @property
    def limits(self) -> tuple[float, float]:
        """Least and largest value [mm]."""
        return 0.0, self.width_mm


@good
class Datum:
    """A datum and the faces it is taken from."""

    name: str = holds("its letter")
    faces: tuple[int, ...] = holds("numbers of the faces that it is taken from")
    targets: tuple[int, ...] = holds("numbers of the faces that carry its targets", default=())
    evaluated: bool = holds("whether tolerances are measured from it", default=False)
    why: str = holds("why they are not", default="")


@good
class Drawing:
    """What a drawing asks of a part."""

    faces: tuple[ExactFace, ...]
    dimensions: tuple[Dimension, ...] = holds("sizes, distances and angles")
    tolerances: tuple[GeometricTolerance, ...] = holds("geometric tolerances")
    datums: tuple[Datum, ...] = holds("what tolerances are measured from")
    lost: tuple[str, ...] = holds("what is damaged in the file, in a sentence each")
