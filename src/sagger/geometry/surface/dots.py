"""A label of dots that outlives the furnace: 16 places, dot or none, with which wrong readings are noticed.

Two labels differ in at least four places, so up to three wrong dots are noticed; nothing is mended in
silence. A bar beside the dots says which side is first.
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.errors import InputError

SIDE = 4  # dots in a row, and rows
SERIES, PLACES = 32, 64  # how many of each can be told apart
_PARITY = (1, 2, 4, 8)
_DATA = [place for place in range(1, 16) if place not in _PARITY]


def written(series: int, place: int) -> ndarray:
    """Dots of a label, bool (4, 4), row 0 beside the bar.

    Parameters
    ----------
    series : int
        0 to 31: which campaign or order.
    place : int
        1 to 63: which place of the box.

    Raises
    ------
    InputError
        If either lies outside.

    Source
    ------
    Hamming, Bell Syst. Tech. J. 29 (1950) 147: single error correcting code (15, 11) with one parity
    over all, used here to detect only.
    """
    if not (0 <= series < SERIES and 1 <= place < PLACES):
        what = f"a label holds a series from 0 to {SERIES - 1} and a place from 1 to {PLACES - 1}"
        raise InputError(what, field="series, place", value=(series, place))
    word = np.zeros(16, dtype=bool)
    payload = series * PLACES + place
    word[_DATA] = [bool(payload >> bit & 1) for bit in range(len(_DATA))]
    for parity in _PARITY:
        word[parity] = np.logical_xor.reduce(word[[n for n in range(1, 16) if n & parity]])
    word[0] = np.logical_xor.reduce(word)
    return word.reshape(SIDE, SIDE)


def told(text: str) -> tuple[int, int]:
    """Series and place from dots as a person notes them: four rows of 0 and 1 from the bar on.

    Raises
    ------
    InputError
        If it is no such text, or no label has these dots: at least one was read wrong.
    """
    marks = [mark for mark in text if mark in "01"]
    rest = set(text) - set("01 /,.-")
    if rest or len(marks) != SIDE * SIDE:
        what = "a label has sixteen dots, written as four rows of 0 and 1"
        raise InputError(what, field="label", value=text, remedy="1 is a dot, 0 none; begin beside the bar.")
    return read(np.array([mark == "1" for mark in marks]).reshape(SIDE, SIDE))


def read(dots: ndarray) -> tuple[int, int]:
    """Series and place of a label, bool (4, 4).

    Raises
    ------
    InputError
        If no label has these dots.
    """
    word = np.asarray(dots, dtype=bool).ravel()
    payload = int(sum(1 << bit for bit, place in enumerate(_DATA) if word[place]))
    series, place = divmod(payload, PLACES)
    if place == 0 or np.any(written(series, place).ravel() != word):
        what = "no label has these dots; at least one was read wrong"
        raise InputError(what, field="label", value=spelt(dots), remedy="Look again, bar first.")
    return series, place


def spelt(dots: ndarray) -> str:
    """Dots as text: rows of 0 and 1 from the bar on."""
    return " ".join("".join("1" if dot else "0" for dot in row) for row in np.asarray(dots, dtype=bool))
