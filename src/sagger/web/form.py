"""The order as a form: one field per key of the order file, with what it takes and what is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from nicegui import ui
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sagger.cards import DEFAULTS
from sagger.desk import shelf
from sagger.errors import InputError
from sagger.files.order_form import PLACES, TABLES
from sagger.web import frame, typed

CARDS_DECIDE = "as the cards say"
FIRST = {  # what most orders need; the rest is one step away
    "order": ("name", "shop", "start"),
    "cards": ("powder", "binder", "head", "box", "oven", "furnace", "shop", "lot"),
    "choices": ("layer", "saturation", "gap", "sag", "alloy"),
    "nesting": ("gap_z", "even", "prefer", "places", "improve", "keep_out"),
    "part": (
        "name", "unit", "quantity", "tolerance", "orientations", "turn", "due", "sag", "together", "apart",
    ),
    "coupon": ("kind", "places", "height", "series"),
}  # fmt: skip
PLAIN = ("order", "cards", "choices", "nesting")
NO_FIELD = ("file",)  # keys that are written in an order file only
RECTANGLES = "keep_out"
SAYS = {
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

Fields = dict[str, Any]  # element by the place that a refusal names, "[choices], layer"


def table(fields: Fields, name: str, values: dict[str, Any], place: str = "") -> None:
    """The fields of one table of the order file, added to `fields`.

    Parameters
    ----------
    fields : dict
        Filled here.
    name : str
        order, cards, choices, nesting, part or coupon.
    values : dict
        What the table says now.
    place : str
        As a refusal names it; "" = "[name]".
    """
    known = {key: info for key, info in TABLES[name].model_fields.items() if key not in NO_FIELD}
    first = [key for key in FIRST[name] if key in known]
    with ui.element("div").classes("fields"):
        for key in first:
            _add(fields, name, key, known[key], values, place)
    rest = [key for key in known if key not in first]
    if rest:
        with ui.expansion("More").classes("more"), ui.element("div").classes("fields"):
            for key in rest:
                _add(fields, name, key, known[key], values, place)


def read(fields: Fields, parts: Iterable[str], said: dict[str, Any]) -> dict[str, Any]:
    """The tables that the fields say; `parts` are the file names of the parts, in order.

    What has no field, such as programmes, stays as `said` has it.
    """
    tables: dict[str, Any] = {name: _kept(said, name) for name in PLAIN}
    tables["part"] = [{"file": file} for file in parts]
    tables |= {name: rows for name, rows in said.items() if name not in tables and name != "coupon"}
    for place, element in fields.items():
        where, _, key = place.rpartition(", ")
        name, number = where.strip("[] 0123456789"), where.rpartition(" ")[2]
        info = TABLES[name].model_fields[key]
        value = typed.value(element.value, info)
        if name == "coupon":
            rows = tables.setdefault(name, [])
            rows += [{} for _ in range(int(number) - len(rows))]
            row = before = rows[int(number) - 1]
        elif name == "part":
            row = tables[name][int(number) - 1]
            before = _before(said, row["file"])
        else:
            row, before = tables[name], said.get(name, {})
        # What a field shows by itself is not said, unless it was.
        if value is not None and (key in before or value != info.default):
            row[key] = value
    return tables


def _before(said: dict[str, Any], file: str) -> dict[str, Any]:
    return next((part for part in said.get("part", []) if part["file"] == file), {})


def _kept(said: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in said.get(name, {}).items() if key in NO_FIELD}


def point(fields: Fields, error: InputError) -> None:
    """Show a refusal, at its field if it names one."""
    element = mark(fields, error)
    if element is not None:
        element.run_method("focus")
    frame.refused(error)


def mark(fields: Fields, error: InputError) -> Any:
    """The field that a refusal names, which shows it then; None if it names none."""
    clear(fields)
    nearest = (each for each in fields if error.field.startswith(each))  # "…, keep_out, 2" too
    element = fields.get(next(nearest, "")) or fields.get(f"[cards], {error.field}")
    if element is not None:
        words = f"{error.what}. {error.remedy}".replace('"', "'")
        element.props["error"], element.props["error-message"] = True, words
        element.update()
    return element


def clear(fields: Fields) -> None:
    """No field shows a refusal any more."""
    for element in fields.values():
        element.props(remove="error error-message")


def words(model: type[BaseModel], key: str) -> tuple[str, ...]:
    """The words that a key of a table takes, if it takes no others."""
    return typed.words(model.model_fields[key].annotation)


def _add(fields: Fields, name: str, key: str, info: FieldInfo, values: dict[str, Any], place: str) -> None:
    where = place or f"[{name}]"
    label = LABELS.get(key, key.replace("_", " "))
    element = _element(name, key, info, label, values.get(key))
    hint = SAYS.get(key, info.description or "")
    if info.examples and key not in SAYS:
        hint += f", such as {info.examples[0]}"
    element.props("outlined stack-label").props["hint"] = hint
    fields[f"{where}, {key}"] = element


def _element(name: str, key: str, info: FieldInfo, label: str, value: Any) -> Any:
    if name == "cards" and key != "lot":
        options = {each: each for each in shelf.cards(key, "")[0]["cards"][key]}
        usual = getattr(DEFAULTS, key)
        if not info.is_required():
            options = {"": f"{usual} (the usual one)"} | options
        start = usual if info.is_required() else ""
        return ui.select(options, value=value if value in options else start, label=label)
    if (name, key) == ("coupon", "places"):
        return _places(label, value)
    words = typed.words(info.annotation)
    if words:
        shown = {word: word or "not said" for word in words}
        return ui.select(shown, value=value if value in shown else info.default, label=label)
    if bool in typed.kinds(info.annotation):
        shown = {"yes": "yes", "no": "no"}
        if info.default is None:
            shown = {"": CARDS_DECIDE} | shown
        value = info.default if value is None else value
        said = "" if value is None else "yes" if value else "no"
        return ui.select(shown, value=said, label=label)
    if int in typed.kinds(info.annotation):
        return ui.number(label=label, value=value if value is not None else _default(info), precision=0)
    return ui.input(label=label, value=typed.text(value))


def _places(label: str, value: Any) -> Any:
    """Places by name; those of an order file's own stay as they are."""
    shown: dict[Any, str] = {word: word for word in PLACES}
    if isinstance(value, list):
        value = tuple(map(tuple, value))
        shown[value] = "its own, from the order file"
    return ui.select(shown, value=value if value in shown else "nine", label=label)


def _default(info: FieldInfo) -> Any:
    return 1 if info.is_required() else info.default
