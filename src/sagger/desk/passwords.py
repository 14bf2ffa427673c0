"""Which passwords will not do: too short, or made of what everybody tries first."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from sagger.errors import InputError

SHORTEST, LONGEST = 12, 128  # characters
FEWEST = 6  # different characters
LEFT = 6  # characters that must be left once common words are taken out
# Words that stand at the head of every list of leaked passwords (from memory, no list was copied), and those
# that this program suggests by itself. They are sought in any case, with the usual signs for letters undone.
COMMON = tuple(Path(__file__).with_name("common-words.txt").read_text("ascii").split())
_SIGNS = str.maketrans("@4310$57!", "aaeiosstl")
_ROWS = ("01234567890", "qwertyuiop", "qwertzuiop", "azertyuiop", "asdfghjkl", "zxcvbnm", "yxcvbnm")
_ALPHABET = "abcdefghijklmnopqrstuvwxyz"
REMEDY = "Three or four words that have nothing to do with one another are easy to keep and hard to guess."


def check(password: str, name: str) -> None:
    """`InputError` if a password of the account `name` is among the first that anybody would try."""
    word = unicodedata.normalize("NFKC", password)
    if not SHORTEST <= len(word) <= LONGEST:
        wrong = f"a password has {SHORTEST} to {LONGEST} characters"
        raise InputError(wrong, field="password", remedy=REMEDY)
    low = word.casefold()
    own = [part for part in re.split(r"\W+", name.casefold()) if len(part) > 2]
    if len(set(low)) < FEWEST or _left(low, own) < LEFT:
        wrong = "this password is among those that are tried first"
        raise InputError(wrong, field="password", remedy=REMEDY)


def _left(word: str, own: list[str]) -> int:
    """Different characters that are left once common words, rows of keys and what repeats are taken out."""
    plain = _without_runs(word)
    return min(len(set(_without(spelt, own))) for spelt in (plain, plain.translate(_SIGNS)))


def _without(word: str, own: list[str]) -> str:
    for each in sorted((*COMMON, *own), key=len, reverse=True):
        word = word.replace(each, "")
    return word


def _without_runs(word: str) -> str:
    """The word without four and more neighbours of a row of keys or the alphabet, either way."""
    rows = [way for row in (*_ROWS, _ALPHABET) for way in (row + row, (row + row)[::-1])]
    rest, at = "", 0
    while at < len(word):
        long = 1
        while at + long < len(word) and any(word[at : at + long + 1] in row for row in rows):
            long += 1
        rest += word[at] if long < 4 else ""
        at += 1 if long < 4 else long
    return rest
