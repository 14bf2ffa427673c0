"""Dimensions and faces as an order writes them: "bore 8 mm at 12, 30, 5 along z", "+0.2 mm 0 mm", "H11"."""

from __future__ import annotations

import dataclasses
import re

from sagger import units
from sagger.errors import InputError
from sagger.goods.stated import Point, StatedFace, StatedLimit

FORMS = ("straightness", "flatness", "roundness", "cylindricity")
PLACED = (
    "parallelism", "perpendicularity", "angularity", "position", "concentricity", "symmetry", "runout",
    "profile",
)  # fmt: skip
ROUGHNESS = "roughness"
ENDS = ("distance", "thickness", "angle")  # sizes between two faces
AXES: dict[str, Point] = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}
_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_POINT = rf"{_NUMBER}\s*,\s*{_NUMBER}\s*,\s*{_NUMBER}"
_ROUND = re.compile(rf"(bore|pin)\s+(\S+\s*[a-z]+)\s+at\s+({_POINT})(?:\s+along\s+(.+))?")
_PLANE = re.compile(rf"plane\s+at\s+({_POINT})(?:\s+facing\s+(.+))?")
_GRADE = re.compile(r"([A-Z]{1,2}|[a-z]{1,2})\s?(\d{1,2})")
_GENERAL = re.compile(r"ISO\s*2768(?:-1)?\s*-?\s*([fmcv])", re.IGNORECASE)
_ROUGH = re.compile(r"(Ra|Rq|Rz)\s+(.+)")
_PAIR = re.compile(rf"({_NUMBER}\s*[a-zµ°]+)\s+({_NUMBER}\s*[a-zµ°]+)")
_EXAMPLES = '"±0.1 mm", "+0.2 mm 0 mm", "7.9 mm to 8.1 mm", "H11" or "ISO 2768-m"'


def face(text: str) -> StatedFace:
    """A face from "bore 8 mm at 12, 30, 5 along z", "pin …" or "plane at 0, 0, 12 facing 0, 0, 1".

    Raises
    ------
    InputError
        If the text is none of these.
    """
    text = text.strip()
    if matched := _ROUND.fullmatch(text):
        diameter = length(matched[2])
        if diameter <= 0:
            raise InputError("a diameter must be above 0", value=matched[2], remedy="Write it as drawn.")
        return StatedFace(
            kind=matched[1], diameter_mm=diameter, at_mm=_point(matched[3]), along=_way(matched[4])
        )
    if matched := _PLANE.fullmatch(text):
        return StatedFace(kind="plane", diameter_mm=0.0, at_mm=_point(matched[1]), along=_way(matched[2]))
    remedy = (
        'Write "bore 8 mm at 12, 30, 5 along z", "pin …" or "plane at 0, 0, 12 facing 0, 0, 1"; places in mm.'
    )
    raise InputError("this is no face", value=text, remedy=remedy)


def face_or_name(text: str) -> StatedFace | str:
    """A face if the text describes one, else the name of a line or the letter of a datum."""
    return face(text) if text.split(" ", 1)[0] in ("bore", "pin", "plane") else text.strip()


def limit(text: str, asked: str) -> StatedLimit:
    """Limits of a dimension; one width for form, orientation and place.

    Raises
    ------
    InputError
        If the text holds no limits, or their order is wrong.

    Source
    ------
    ISO 286-1, ISO 2768-1: their tables are looked up by the desk, which refuses a class that they have not.
    """
    text, kind = text.strip(), "angle" if asked == "angle" else "length"
    if asked == ROUGHNESS:
        return _roughness(text)
    if asked in (*FORMS, *PLACED):
        return _zone(text)
    if matched := _GRADE.fullmatch(text):
        return StatedLimit(kind="grade", letter=matched[1], grade=matched[2])
    if matched := _GENERAL.fullmatch(text):
        return StatedLimit(kind="general", grade=matched[1].lower())
    if text.startswith("±"):
        half = _read(text[1:], kind)
        return _ordered("deviation", -half, half, text)
    if " to " in text:
        low, high = (_read(end, kind) for end in text.split(" to ", 1))
        return _ordered("between", low, high, text)
    if matched := _PAIR.fullmatch(text):
        ends = sorted(_read(end, kind) for end in matched.groups())
        return _ordered("deviation", ends[0], ends[1], text)
    raise InputError("these are no limits", value=text, remedy=f"Write for instance {_EXAMPLES}.")


def checked(asked: str, words: str, ends: int) -> None:
    """Refuse limits that do not fit what is asked for, or an end that is missing.

    Raises
    ------
    ValueError
        With what is wrong in words.
    """
    try:
        limit(words, asked)
    except InputError as error:
        raise ValueError(f"limit: {error}") from None
    if asked in ENDS and ends != 1:
        raise ValueError(f"a {asked} has one face at its other end: say it with to")


def length(text: str) -> float:
    """A length in mm, without the noise of its conversion."""
    return float(f"{units.into(units.read(text, 'length'), 'mm'):.12g}")


def _zone(text: str) -> StatedLimit:
    width = _read(text, "length")
    if width <= 0:
        raise InputError("a zone must be wider than 0", value=text, remedy="Write its full width.")
    return StatedLimit(kind="zone", upper=width)


def _roughness(text: str) -> StatedLimit:
    matched = _ROUGH.fullmatch(text)
    if matched is None:
        raise InputError(
            "this is no roughness", value=text, remedy='Write "Ra 6.3 um", "Rq 8 um" or "Rz 25 um".'
        )
    return dataclasses.replace(_zone(matched[2]), letter=matched[1])


def _ordered(kind: str, low: float, high: float, text: str) -> StatedLimit:
    if not low < high:
        raise InputError(
            "there is no room between these limits", value=text, remedy="Write the smaller first."
        )
    return StatedLimit(kind=kind, lower=low, upper=high)


def _read(text: str, kind: str) -> float:
    """A length in mm, an angle in degrees."""
    if kind == "angle":
        plain = text.replace("°", " deg").replace("deg", "").strip()
        try:
            return float(plain)
        except ValueError:
            raise InputError("this is no angle", value=text, remedy='Write "±0.5 deg".') from None
    return length(text)


def _point(text: str) -> Point:
    x, y, z = (float(number) for number in text.split(","))
    return x, y, z


def _way(text: str | None) -> Point | None:
    if text is None:
        return None
    word = text.strip()
    if word.lstrip("-+") in AXES:
        x, y, z = AXES[word.lstrip("-+")]
        return (-x, -y, -z) if word.startswith("-") else (x, y, z)
    if re.fullmatch(_POINT, word) and any(_point(word)):
        return _point(word)
    raise InputError("this is no direction", value=text, remedy='Write "x", "-z" or three numbers.')
