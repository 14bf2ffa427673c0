"""What a kernel takes, as text and as the compiler's types: `array(float64, 2, C), constant(3)`."""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

import numba

types: Any = numba.types
WORD = re.compile(r"[\w.+-]+|[(),]")
CONSTANTS = {"true": True, "false": False}


class Term(NamedTuple):
    """A word, and what stands in brackets behind it."""

    word: str
    inside: tuple[Term, ...] = ()


def written(taken: tuple[Any, ...]) -> str:
    """Types of a kernel's arguments as one line of text.

    Raises
    ------
    TypeError
        If there is no word yet for one of the types; it needs one here.
    """
    return ", ".join(map(_text, taken))


def read(text: str) -> tuple[Any, ...]:
    """The compiler's types that `written` wrote."""
    words = iter(WORD.findall(f"({text})"))
    next(words)
    return tuple(map(_type, _terms(words)))


def _text(kind: Any) -> str:
    match kind:
        case types.Array(dtype=dtype, ndim=ndim, layout=layout, mutable=mutable, aligned=True):
            return f"{'array' if mutable else 'frozen'}({_text(dtype)}, {ndim}, {layout})"
        case types.BaseNamedTuple(instance_class=named, types=inside):
            return f"{named.__module__.removeprefix('sagger.')}.{named.__name__}({written(inside)})"
        case types.BaseTuple(types=inside):
            return f"tuple({written(inside)})"
        case types.Literal(literal_value=bool() | int() as value):
            return f"constant({str(value).lower()})"
        case types.Number() | types.Boolean() | types.NoneType():
            return str(kind)
    raise TypeError(f"no word for a kernel's argument of type {kind}: give it one in {__name__}")


def _terms(words: Iterator[str]) -> tuple[Term, ...]:
    """What stands between a bracket that was read and its other one."""
    terms: list[Term] = []
    for word in words:
        match word:
            case "(":
                terms[-1] = Term(terms[-1].word, _terms(words))
            case ")":
                break
            case ",":
                continue
            case _:
                terms.append(Term(word))
    return tuple(terms)


def _type(term: Term) -> Any:
    match term:
        case Term("array" | "frozen", (dtype, ndim, layout)):
            return types.Array(_type(dtype), int(ndim.word), layout.word, readonly=term.word == "frozen")
        case Term("tuple", inside):
            return types.BaseTuple.from_types(list(map(_type, inside)))
        case Term("constant", (value,)):
            return types.literal(CONSTANTS[value.word] if value.word in CONSTANTS else int(value.word))
        case Term(name, inside) if "." in name:
            module, _, named = name.rpartition(".")
            kind = getattr(importlib.import_module(f"sagger.{module}"), named)
            return types.BaseTuple.from_types(list(map(_type, inside)), kind)
    return getattr(types, "boolean" if term.word == "bool" else term.word)
