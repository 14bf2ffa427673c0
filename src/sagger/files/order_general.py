"""Form and place that hold where a drawing says nothing: "ISO 2768-K", "profile 0.5 mm to A B C"."""

from __future__ import annotations

import re

from sagger.errors import InputError
from sagger.files import order_stated
from sagger.goods.stated import GeneralForm

_CLASS = re.compile(r"ISO\s*2768(?:-2)?\s*-?\s*[fmcv]?([HKL])")
_PROFILE = re.compile(r"profile\s+(\S+\s*[a-zµ]+)(?:\s+to((?:\s+[A-Z]{1,3}){1,3}))?")


def general_form(text: str) -> GeneralForm:
    """What holds for every face without a tolerance of its own.

    Raises
    ------
    InputError
        If the text is neither a class of ISO 2768-2 nor a general profile.
    """
    text = text.strip()
    if matched := _CLASS.fullmatch(text):
        return GeneralForm(kind="iso2768", grade=matched[1])
    if matched := _PROFILE.fullmatch(text):
        width = order_stated.length(matched[1])
        if width <= 0:
            raise InputError("a zone must be wider than 0", value=text, remedy="Write its full width.")
        return GeneralForm(kind="profile", width_mm=width, datums=tuple((matched[2] or "").split()))
    remedy = 'Write "ISO 2768-K" (H, K, L) or "profile 0.5 mm to A B C".'
    raise InputError("this is no general tolerance of form", value=text, remedy=remedy)
