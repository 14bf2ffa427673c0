"""The order as fields, one per key of the order file, and what they say as its tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sagger.cards import DEFAULTS
from sagger.errors import InputError
from sagger.files.order_form import PLACES, TABLES
from sagger.goods import plain
from sagger.goods.good import good
from sagger.goods.plain import Plain, Table
from sagger.web.rows import form_values

CARDS_DECIDE = "as the cards say"
FIRST = {  # what most orders need; the rest is one step away
    "order": ("name", "shop", "customer", "reference", "start"),
    "cards": ("powder", "binder", "head", "box", "oven", "furnace", "shop", "lot"),
    "choices": ("layer", "saturation", "gap", "sag", "alloy"),
    "nesting": ("gap_z", "even", "prefer", "places", "lift", "improve", "weigh", "keep_out"),
    "part": (
        "name", "unit", "quantity", "tolerance", "orientations", "turn", "due", "sag", "together", "apart",
    ),
    "coupon": ("kind", "places", "height", "series"),
}  # fmt: skip
PLAIN = ("order", "cards", "choices", "nesting")  # tables there is one of
NO_FIELD = ("file", "datum", "dimension")  # keys that are written in an order file only
RECTANGLES = "keep_out"
HINTS = {
    RECTANGLES: "Rectangles of the bed left free at all heights, x y x y in mm and the next one after a "
    "semicolon, such as 0 0 30 20; 370 230 400 250",
    "sag": "Factors alone; or bent against its sag in the furnace, quickly (seconds) or in full (a minute)",
}
LABELS = {
    RECTANGLES: "keep out",
    "alloy": "alloy (sand only)",
    "turn": "turn about x, y, z, degrees",
    "shop": "shop",
}


class PartKey(NamedTuple):
    """Which part of an order a row is of."""

    file: str
    body: str = ""  # of a file that holds several


Options = tuple[tuple[object, str], ...]
Cards = Mapping[str, Iterable[str]]  # names of the cards of each kind


@good
class OrderField:
    """One field of the form."""

    place: str  # as a refusal names it, "[choices], layer"
    label: str
    hint: str
    kind: str  # "choice", "number" or "text"
    options: Options  # of a choice: what the order file holds, what is shown
    value: object
    first: bool  # shown at once


def fields(table: str, values: Table, place: str, cards: Cards) -> list[OrderField]:
    """The fields of one table of the order file, those that most orders need first.

    Parameters
    ----------
    table : str
        order, cards, choices, nesting, part or coupon.
    values : mapping
        What the table says now.
    place : str
        As a refusal names it; "" = "[table]".
    cards : mapping
        Names of the cards of each kind, needed for "cards".
    """
    known = {name: key for name, key in TABLES[table].model_fields.items() if name not in NO_FIELD}
    first = [name for name in FIRST[table] if name in known]
    order = [*first, *(name for name in known if name not in first)]
    return [
        _field(table, name, known[name], values.get(name), place or f"[{table}]", cards) for name in order
    ]


def tables(entries: Mapping[str, object], parts: Iterable[PartKey], before: Table) -> Table:
    """The tables of the order file that the fields say.

    Parameters
    ----------
    entries : mapping
        What each field holds, by its place.
    parts : iterable of PartKey
        Of the parts, in order.
    before : mapping
        Tables so far; what has no field, such as programmes, stays.
    """
    made: Table = {name: _without_field(before, name) for name in PLAIN}
    made["part"] = [_begun(part, before) for part in parts]
    made |= {name: rows for name, rows in before.items() if name not in made and name != "coupon"}
    for place, entry in entries.items():
        where, _, name = place.rpartition(", ")
        table, number = where.strip("[] 0123456789"), where.rpartition(" ")[2]
        key = TABLES[table].model_fields[name]
        row, old = _row(made, table, number, before)
        value = form_values.value(entry, key)
        # What a field shows by itself is left out, unless it was written before.
        if value is not None and (name in old or value != key.default):
            row[name] = value
    return made


def written(before: Table, part: PartKey) -> Table:
    """What an order says of a part; {} if nothing."""
    of_file = [row for row in plain.rows(before, "part") if row.get("file") == part.file]
    same = (row for row in of_file if plain.text(row, "body") == part.body)
    return next(same, of_file[0] if of_file and not part.body else {})


def without_left_out(made: Table) -> Table:
    """The tables without the bodies of which none is wanted."""
    wanted = [row for row in plain.rows(made, "part") if not (row.get("quantity") == 0 and row.get("body"))]
    return {**made, "part": [*wanted]}


def at_refusal(places: Iterable[str], error: InputError) -> str:
    """The place of the field that a refusal names, "" if it names none."""
    known = list(places)
    nearest = (place for place in known if error.field.startswith(place))  # "…, keep_out, 2" too
    card = f"[cards], {error.field}"
    return next(nearest, card if card in known else "")


def refusal(error: InputError) -> str:
    """What stands at a field that was refused."""
    return f"{error.what}. {error.remedy}".replace('"', "'")


def words(model: type[BaseModel], key: str) -> tuple[str, ...]:
    """The words that a key of a table takes, if it takes no others."""
    return form_values.words(model.model_fields[key].annotation)


def _row(made: Table, table: str, number: str, before: Table) -> tuple[Table, Table]:
    """The row that a field writes into, and what it said before."""
    if table == "coupon":
        known = plain.rows(made, table)
        known += [{} for _ in range(int(number) - len(known))]
        made[table] = [*known]
        return known[int(number) - 1], known[int(number) - 1]
    if table == "part":
        row = plain.rows(made, table)[int(number) - 1]
        return row, written(before, PartKey(plain.text(row, "file"), plain.text(row, "body")))
    return plain.table(made, table), plain.table(before, table)


def _begun(part: PartKey, before: Table) -> Table:
    """A part's row with what has no field: its file, the datums and dimensions that the order says of it."""
    row: Table = {"file": part.file, **({"body": part.body} if part.body else {})}
    return row | {
        key: value for key, value in written(before, part).items() if key in NO_FIELD and key != "file"
    }


def _without_field(before: Table, table: str) -> Table:
    return {key: value for key, value in plain.table(before, table).items() if key in NO_FIELD}


def _field(table: str, name: str, key: FieldInfo, value: Plain, where: str, cards: Cards) -> OrderField:
    hint = HINTS.get(name, key.description or "")
    if key.examples and name not in HINTS:
        hint += f", such as {key.examples[0]}"
    options = _options(table, name, key, value, cards)
    kind = "choice" if options else "number" if int in form_values.kinds(key.annotation) else "text"
    shown = _chosen(name, key, value, options) if options else _typed(key, value, kind)
    return OrderField(
        place=f"{where}, {name}",
        label=LABELS.get(name, name.replace("_", " ")),
        hint=hint,
        kind=kind,
        options=options,
        value=shown,
        first=name in FIRST[table],
    )


def _options(table: str, name: str, key: FieldInfo, value: Plain, cards: Cards) -> Options:
    """What may be chosen; () of a field that is typed into."""
    if table == "cards" and name != "lot":
        usual = () if key.is_required() else (("", f"{getattr(DEFAULTS, name)} (the usual one)"),)
        return (*usual, *((card, card) for card in cards[name]))
    if (table, name) == ("coupon", "places"):
        own = ((_places(value), "its own, from the order file"),) if isinstance(value, list | tuple) else ()
        return (*((word, word) for word in PLACES), *own)
    if bool in form_values.kinds(key.annotation):
        unset = (("", CARDS_DECIDE),) if key.default is None else ()
        return (*unset, ("yes", "yes"), ("no", "no"))
    return tuple((word, word or "not set") for word in form_values.words(key.annotation))


def _chosen(name: str, key: FieldInfo, value: Plain, options: Options) -> object:
    """What is chosen at first."""
    known = [option for option, _ in options]
    if "yes" in known:
        value = key.default if value is None else value
        return "" if value is None else "yes" if value else "no"
    chosen = _places(value) if isinstance(value, list | tuple) else value
    if chosen in known:
        return chosen
    if name == "places" and "nine" in known:
        return "nine"
    if "" in known and key.default is None:
        return ""
    return getattr(DEFAULTS, name) if key.is_required() and hasattr(DEFAULTS, name) else key.default


def _places(value: Sequence[Plain]) -> tuple[object, ...]:
    return tuple(tuple(place) if isinstance(place, list) else place for place in value)


def _typed(key: FieldInfo, value: Plain, kind: str) -> object:
    if kind == "text":
        return form_values.text(value)
    return value if value is not None else 1 if key.is_required() else key.default
