"""What the keys of an order file take: text with a unit, within limits, kept as it stands once read."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field

from sagger import units
from sagger.errors import InputError
from sagger.files import order_general, order_stated
from sagger.goods.order import Tolerance

_ISO_2768 = re.compile(r"^ISO\s*2768(?:-1)?\s*-?\s*([fmcv])$", re.IGNORECASE)


class Unfit(ValueError):
    """An `InputError` in the dress that the validation library catches."""

    def __init__(self, error: InputError):
        super().__init__(error.what)
        self.error = error


def _iso(value: object) -> object:
    """TOML's own dates are as good as text."""
    return value.isoformat() if isinstance(value, date) else value


def _tried(read: Callable[[str], object]) -> AfterValidator:
    """Text is kept as it stands once it could be read."""

    def check(text: str) -> str:
        try:
            read(text)
        except InputError as error:
            raise Unfit(error) from None
        return text

    return AfterValidator(check)


def _is_moment(text: str) -> None:
    if text:
        _read_date(datetime.fromisoformat, text, "this is no date and time", "2030-01-31T08:00")


def _is_day(text: str) -> None:
    if text:
        _read_date(date.fromisoformat, text, "this is no date", "2030-01-31")


def _read_date(read: Callable[[str], object], text: str, wrong: str, like: str) -> None:
    try:
        read(text)
    except ValueError:
        remedy = f"Write year, month and day, such as {like}; the calendar must have it."
        raise InputError(wrong, value=text, remedy=remedy) from None


def _positive(kind: str) -> AfterValidator:
    """Text such as "50 um"."""

    def read(text: str) -> None:
        if units.read(text, kind) <= 0:
            raise InputError("this must be above 0", remedy="Leave the key out to take the card's value.")

    return _tried(read)


def tolerance(text: str) -> Tolerance:
    """A tolerance from "0.2 mm" (±), "0.5 %" (±) or "ISO 2768-m".

    Raises
    ------
    InputError
        If the text is none of these.
    """
    grade = _ISO_2768.match(text.strip())
    if grade:
        return Tolerance(kind="iso2768", grade=grade[1].lower())
    kind, word, plain = ("pure", "%", "percent") if text.strip().endswith("%") else ("length", "mm", "mm")
    try:
        value = units.read(text, kind)
    except InputError:
        remedy = 'Write for instance "0.2 mm", "0.5 %" or "ISO 2768-m" (f, m, c, v).'
        raise InputError("this is no tolerance", value=text, remedy=remedy) from None
    if not 0 < value < 1:
        raise InputError("this must be above 0, and below 100 % or 1 m", remedy="Write the ± half width.")
    return Tolerance(kind=plain, value=float(f"{units.into(value, word):.12g}"))


def _between(kind: str, least: str, most: str) -> AfterValidator:
    """Text such as "20 um", from `least` to `most`."""
    low, high = units.read(least, kind), units.read(most, kind)

    def read(text: str) -> None:
        if not low <= units.read(text, kind) <= high:
            raise InputError(f"this must be from {least} to {most}", remedy="Leave the key out if in doubt.")

    return _tried(read)


def _share(text: str) -> None:
    if not 0 < units.read(text, "pure") <= 1:
        raise InputError("this must be above 0 and up to 100 %", remedy="It is a share of the saturation.")


Moment = Annotated[str, BeforeValidator(_iso), _tried(_is_moment)]
Day = Annotated[str, BeforeValidator(_iso), _tried(_is_day)]
Length = Annotated[str, _positive("length")]
Share = Annotated[str, _positive("pure")]
Bleed = Annotated[str, _between("length", "-1 mm", "1 mm")]
Depth = Annotated[str, _between("length", "0 mm", "5 mm")]
Skin = Annotated[str, _between("length", "0 mm", "100 mm")]
Sure = Annotated[str, _between("pure", "1 %", "99.9 %")]
Part = Annotated[str, _tried(_share)]
Open = Annotated[str, _between("pure", "0 %", "100 %")]
Rate = Annotated[str, _positive("heating_rate")]
Heat = Annotated[str, _positive("temperature")]
Span = Annotated[str, _between("time", "0 min", "500 h")]
Where = Annotated[str, _tried(order_stated.face)]
Named = Annotated[str, _tried(order_stated.face_or_name)]
Chord = Annotated[str, _between("length", "0.001 mm", "1 mm")]
Patience = Annotated[str, _between("time", "1 s", "1 h")]
Gap = Annotated[str, _between("length", "0 mm", "100 mm")]
Height = Annotated[str, _between("length", "0 mm", "1 m")]
Edge = Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)]
Formed = Annotated[str, _tried(order_general.general_form)]
Size = Annotated[str, _tried(tolerance)]
Angle = Annotated[float, Field(ge=-360, le=360, allow_inf_nan=False)]
