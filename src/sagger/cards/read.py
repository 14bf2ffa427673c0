"""A card file becomes a frozen good, or is refused with file, field, value and remedy.

The good's own fields say what a card holds: a field made by `goods.figure.figure(kind)` is a figure of that
kind of unit, every other one is text, a count, a list of words, or a table below.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar, overload

from sagger import texts, units
from sagger.cards.agree import agree
from sagger.cards.families import completed
from sagger.cards.figures import DIFFERENCE, amount, figure, trust
from sagger.cards.place import CardSpot, Table, near, no_strangers, refusal
from sagger.errors import CardError
from sagger.goods import plain
from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.furnace import Furnace
from sagger.goods.head import Head
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder, Segment
from sagger.goods.shop import Shop
from sagger.goods.stand import Stand

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Card = Powder | Binder | Head | Box | Oven | Furnace | Shop | Stand
C = TypeVar("C", bound="DataclassInstance")
SHIPPED = Path(__file__).parent
KINDS: dict[str, tuple[type[Card], str]] = {
    "powder": (Powder, "powders"),
    "binder": (Binder, "binders"),
    "head": (Head, "heads"),
    "box": (Box, "boxes"),
    "oven": (Oven, "ovens"),
    "furnace": (Furnace, "furnaces"),
    "shop": (Shop, "shops"),
    "stand": (Stand, "stands"),
}
OWN_KINDS: dict[tuple[type, str], str] = {  # what the field of the good does not say
    (Furnace, "uniformity"): DIFFERENCE,
    (Furnace, "repeat"): DIFFERENCE,
}
MAY_MISS = ("castings",)
SORTS = {str: "text", int: "a whole number", bool: "true or false"}


@overload
def load(kind: Literal["powder"], name: str, folders: Iterable[Path] = ()) -> Powder: ...
@overload
def load(kind: Literal["binder"], name: str, folders: Iterable[Path] = ()) -> Binder: ...
@overload
def load(kind: Literal["head"], name: str, folders: Iterable[Path] = ()) -> Head: ...
@overload
def load(kind: Literal["box"], name: str, folders: Iterable[Path] = ()) -> Box: ...
@overload
def load(kind: Literal["oven"], name: str, folders: Iterable[Path] = ()) -> Oven: ...
@overload
def load(kind: Literal["furnace"], name: str, folders: Iterable[Path] = ()) -> Furnace: ...
@overload
def load(kind: Literal["shop"], name: str, folders: Iterable[Path] = ()) -> Shop: ...
@overload
def load(kind: Literal["stand"], name: str, folders: Iterable[Path] = ()) -> Stand: ...
@overload
def load(kind: str, name: str, folders: Iterable[Path] = ()) -> Card: ...
def load(kind: str, name: str, folders: Iterable[Path] = ()) -> Card:
    """The card of this kind and name; one in `folders` stands before a shipped one.

    Parameters
    ----------
    kind : str
        "powder", "binder", "head", "box", "oven", "furnace", "shop" or "stand".
    name : str
        Name of the card: its file name without ".toml".
    folders : iterable of Path
        Folders of one's own cards, laid out like the shipped one (powders/, binders/, …, sources.toml).
        The first that holds the name wins.

    Returns
    -------
    Powder, Binder, Head, Box, Oven, Furnace, Shop or Stand

    Raises
    ------
    CardError
        If no card has that name, or if the card is refused.
    """
    roots = (*folders, SHIPPED)
    path = _find(kind, name, roots)
    table = open_table(path)
    table.pop("note", None)
    place = CardSpot(file=path.name, sources=read_sources(roots))
    card = _good(KINDS[kind][0], table, place, fixed={"name": name})
    agree(card, place)
    return completed(card, place) if isinstance(card, Powder) else card


def names(kind: str, folders: Iterable[Path] = ()) -> list[str]:
    """Names of all cards of this kind, sorted; `CardError` if there is no such kind."""
    if kind not in KINDS:
        raise CardError("there are no cards of this kind", value=kind, remedy=near(kind, KINDS))
    folder = KINDS[kind][1]
    return sorted({path.stem for root in (*folders, SHIPPED) for path in (root / folder).glob("*.toml")})


def read_sources(roots: Iterable[Path]) -> dict[str, Table]:
    """Every source that may be cited, by key, from each root's sources.toml; the first root wins."""
    files = [root / "sources.toml" for root in roots]
    tables = [open_table(file) for file in files if file.is_file()]
    named = [(key, entry) for table in reversed(tables) for key, entry in table.items()]
    return {key: entry for key, entry in named if isinstance(entry, Mapping)}


def open_table(path: Path) -> plain.Table:
    """What a TOML file says; `CardError` if it says it in no TOML."""
    return texts.toml(path, CardError, "the card", remedy="Mend the line named.")


def _find(kind: str, name: str, roots: tuple[Path, ...]) -> Path:
    known = names(kind, roots)
    if name not in known:
        raise CardError(f"no {kind} card has this name", field=kind, value=name, remedy=near(name, known))
    paths = (root / KINDS[kind][1] / f"{name}.toml" for root in roots)
    return next(path for path in paths if path.is_file())


def _good(cls: type[C], table: Table, place: CardSpot, fixed: Table = types.MappingProxyType({})) -> C:
    hints = typing.get_type_hints(cls)
    fields = [field for field in dataclasses.fields(cls) if field.name not in fixed]
    no_strangers(table, [field.name for field in fields], place)
    values = dict(fixed)
    for field in fields:
        here, hint, entry = place.below(field.name), hints[field.name], table.get(field.name)
        if entry is None and field.default is not dataclasses.MISSING:
            continue
        if entry is None and not _may_miss(hint, field.name):
            raise refusal(here, "this field is missing", remedy="Add it to the card.")
        kind = kind_of(cls, field)
        values[field.name] = _value(hint, kind, entry, here, "kind" in field.metadata)
    return cls(**values)


def kind_of(cls: type, field: dataclasses.Field[Any]) -> str | None:
    """Kind of unit that a field's figure has: of a sourced one as it says, of a plain number by its unit."""
    plain = field.metadata.get("unit")
    said = units.unit(plain).kind if plain else field.metadata.get("kind")
    return OWN_KINDS.get((cls, field.name)) or said


def _value(hint: Any, kind: str | None, entry: object, place: CardSpot, sourced: bool) -> object:
    """One field: a figure or several, a plain number with unit, or something that is no number."""
    if kind and typing.get_origin(hint) is tuple:
        return tuple(figure(each, kind, here) for each, here in _listed(entry, place))
    if kind:
        return figure(entry, kind, place) if sourced else amount(entry, kind, place)
    inner = typing.get_args(hint)
    if types.NoneType in inner:  # `Sintering | None`
        return None if entry is None else _good(inner[0], _table(entry, place), place)
    if typing.get_origin(hint) is tuple and isinstance(inner[0], type) and dataclasses.is_dataclass(inner[0]):
        return tuple(_rows(inner[0], entry, place))
    if typing.get_origin(hint) is tuple:
        return _numbers(entry, place) if inner[0] is int else _words(entry, place)
    if isinstance(entry, hint) and isinstance(entry, bool) == (hint is bool):
        return entry
    raise refusal(place, f"this must be {SORTS[hint]}", entry)


def _rows(cls: type[C], entries: object, place: CardSpot) -> Iterator[C]:
    for entry, here in _listed(entries or [], place):
        table = _table(entry, here)
        if cls is Segment:  # a stretch must say where it comes from
            trust(table, here)
        yield _good(cls, table, here)


def _listed(entries: object, place: CardSpot) -> Iterator[tuple[object, CardSpot]]:
    if not isinstance(entries, list):
        raise refusal(place, "a list of tables is needed", remedy=f"Write [[{place.field}]].")
    for index, entry in enumerate(entries, start=1):
        yield entry, place._replace(field=f"{place.field}[{index}]")


def _numbers(entry: object, place: CardSpot) -> tuple[int, ...]:
    if isinstance(entry, list) and all(type(number) is int for number in entry):
        return tuple(entry)
    raise refusal(place, "a list of whole numbers is needed", entry, "Write it as [12, 407].")


def _words(entry: object, place: CardSpot) -> tuple[str, ...]:
    if isinstance(entry, list) and all(isinstance(word, str) for word in entry):
        return tuple(entry)
    raise refusal(place, "a list of words is needed", entry, 'Write it as ["one", "other"].')


def _table(entry: object, place: CardSpot) -> Table:
    if isinstance(entry, Mapping):
        return entry
    raise refusal(place, "a table is needed", entry, f"Write [{place.field}].")


def _may_miss(hint: object, name: str) -> bool:
    return name in MAY_MISS or types.NoneType in typing.get_args(hint)
