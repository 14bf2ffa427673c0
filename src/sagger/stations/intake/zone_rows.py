"""Form, orientation, place and profile of a drawing as linear forms, seen from their datums."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import forms
from sagger.geometry.surface.forms import DatumFrame, LinearForm, Sampled
from sagger.goods.drawing import GeometricTolerance
from sagger.stations.intake.face_points import Feature, features, whole
from sagger.stations.intake.size_rows import LEAST_SQUARES, AskedRows, axis, shift
from sagger.stations.intake.tied import ROUGHNESS, Tied

ZONE, RANGE, ROUND = "zone", "range", "round"
THINNED = 4  # of the points over a face every so many for a profile, and all where it ends
FORMS = ("flatness", "straightness", "roundness", "cylindricity")
TILTS = ("parallelism", "perpendicularity", "angularity")
PLACES = ("position", "concentricity", "coaxiality", "symmetry")
RUNOUTS = ("circular runout", "total runout")
PROFILES = ("surface profile", "line profile")
BONUSES = ("maximum material requirement", "least material requirement")
COUNTED = (*BONUSES, "statistical tolerance", "free state", "all around", "each element", "reciprocity")
DATUM_FACE = "face"
CAREFUL = "zone taken as round"


class Frames:
    """Datum systems of one drawing, each worked out once."""

    def __init__(self, tied: Tied):
        self._tied = tied
        self._known: dict[tuple[str, ...], DatumFrame | None] = {(): NOTHING}
        self._faces = {datum.name: datum.faces for datum in tied.drawing.datums}

    def of(self, letters: tuple[str, ...]) -> DatumFrame | None:
        """The frame of these letters; None if one of them has no plane and no cylinder."""
        if letters not in self._known:
            held = [self._held(letter) for letter in letters]
            self._known[letters] = forms.frame(held) if all(held) else None
        return self._known[letters]

    def _held(self, letter: str) -> list[tuple[ndarray, LinearForm]]:
        """Rows of one letter, or of the letters of a common datum together."""
        names = letter.partition("(")[0].split("-")
        numbers = tuple(number for name in names for number in self._faces.get(name, as_face(name)))
        held = []
        for one in features(numbers, self._tied):
            if one.kind == "cylinder":
                own = axis(one)
                held.append((axis_rigid(own), own.ends))
            elif one.kind == "plane":
                held.append((_rigid(one.spread), forms.bare(one.spread)))
        return held


def as_face(name: str) -> tuple[int, ...]:
    """Number of the face that a general tolerance takes as its datum; no letter is called so."""
    word, _, number = name.partition(" ")
    return (int(number),) if word == DATUM_FACE and number.isdigit() else ()


NOTHING = DatumFrame(
    LinearForm(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros((6, 0)), np.zeros(0, dtype=np.int64)), np.eye(6)
)


def rows(asked: GeometricTolerance, tied: Tied, frames: Frames) -> list[AskedRows] | str:
    """Of each feature that a tolerance is of, or why it is not evaluated."""
    if asked.kind == ROUGHNESS:
        return "roughness of the powder is on no card"
    unknown = [word for word in asked.modifiers if word not in COUNTED]
    if unknown:
        return f"not evaluated with {', '.join(unknown)}"
    carried = frames.of(asked.datums)
    if carried is None:
        return "a datum is no plane, bore or pin"
    on = [whole(tied)] if asked.whole else features(asked.faces, tied)
    if not on:
        return "its faces are not known"
    for kinds, made in _MADE:
        if asked.kind in kinds:
            return made(asked, on, carried)
    return f"{asked.kind} is not evaluated"


def axis_rigid(own: forms.Cylinder) -> ndarray:
    """How a rigid motion moves the ends of an axis, float64 (4, 6)."""
    return np.concatenate([forms.rigid_rows(np.tile(end, (2, 1)), own.across) for end in own.middle])


def _form(asked: GeometricTolerance, on: list[Feature], _: DatumFrame) -> list[AskedRows] | str:
    made = []
    for one in on:
        if one.kind == "plane":
            made.append(AskedRows(RANGE, LEAST_SQUARES, forms.bent(one.points)))
        elif one.kind == "cylinder" and asked.kind != "flatness":
            made.append(AskedRows(RANGE, LEAST_SQUARES, axis(one).radial))
    return made if len(made) == len(on) else "form is evaluated of planes, bores and pins only"


def _tilted(asked: GeometricTolerance, on: list[Feature], carried: DatumFrame) -> list[AskedRows] | str:
    """Ends of an axis against each other, a plane's points seen from the datums without its own place."""
    made = []
    for one in on:
        if one.kind == "plane":
            made.append(AskedRows(RANGE, LEAST_SQUARES, _seen(one.points, carried)))
        elif one.kind == "cylinder":
            own = axis(one)
            ends = forms.seen_from(own.ends, axis_rigid(own), carried)
            half = (ends.weights[2:] - ends.weights[:2]) / 2
            made.append(AskedRows(ROUND, _round(asked), ends._replace(weights=half)))
    return made if len(made) == len(on) else "orientation is evaluated of planes, bores and pins only"


def _placed(asked: GeometricTolerance, on: list[Feature], carried: DatumFrame) -> list[AskedRows] | str:
    if asked.zone == "sphere" or any(one.kind == "other" for one in on):
        return "place is evaluated of planes, bores and pins only"
    flat = [one for one in on if one.kind == "plane"]
    made = []
    for one in on:
        if one.kind == "cylinder":
            own = axis(one)
            seen = forms.seen_from(own.ends, axis_rigid(own), carried)
            made.append(AskedRows(ROUND, _round(asked), seen))
    if len(flat) == 2 and abs(float(flat[0].along @ flat[1].along)) > 0.99:
        return [*made, _median((flat[0], flat[1]), carried)]
    return [*made, *(AskedRows(ZONE, LEAST_SQUARES, _seen(one.points, carried)) for one in flat)]


def _median(faces: tuple[Feature, Feature], carried: DatumFrame) -> AskedRows:
    """The plane half way between two faces."""
    one, other = faces
    way = one.along
    middle = forms.joined([(0.5, shift(one, way)), (0.5, shift(other, way))])
    rigid = forms.rigid_rows(((one.at + other.at) / 2)[None], way[None])
    return AskedRows(
        ZONE, "middle of the median plane, its tilt not counted", forms.seen_from(middle, rigid, carried)
    )


def _running(_: GeometricTolerance, on: list[Feature], carried: DatumFrame) -> list[AskedRows] | str:
    if not carried.motion.weights.shape[1]:
        return "a runout needs a datum"
    return [AskedRows(RANGE, "total over the face", _seen(one.points, carried)) for one in on]


def _profile(_: GeometricTolerance, on: list[Feature], carried: DatumFrame) -> list[AskedRows] | str:
    """All faces are one zone; what datums leave free is fitted."""
    points = [
        Sampled(*(np.concatenate([many[::THINNED], few]) for many, few in zip(*one[1:3], strict=True)))
        for one in on
    ]
    together = Sampled(*(np.concatenate(parts) for parts in zip(*points, strict=True)))
    return [AskedRows(ZONE, LEAST_SQUARES, _seen(together, carried))]


def _seen(points: Sampled, carried: DatumFrame) -> LinearForm:
    return forms.seen_from(forms.bare(points), _rigid(points), carried)


def _rigid(points: Sampled) -> ndarray:
    return forms.rigid_rows(points.points, points.normals)


def _round(asked: GeometricTolerance) -> str:
    return LEAST_SQUARES if asked.zone else CAREFUL


Maker = Callable[[GeometricTolerance, list[Feature], DatumFrame], "list[AskedRows] | str"]
_MADE: tuple[tuple[tuple[str, ...], Maker], ...] = (
    (FORMS, _form),
    (TILTS, _tilted),
    (PLACES, _placed),
    (RUNOUTS, _running),
    (PROFILES, _profile),
)
