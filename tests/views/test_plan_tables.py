"""The described fields of goods are what plan.json, its schema and its page are made from."""

from __future__ import annotations

import dataclasses
import typing
from pathlib import Path

import numpy as np
import pytest
from numpy import ndarray

from sagger.goods.good import good, holds
from sagger.views import plan
from sagger.views.plan.fields import table_of
from sagger.views.plan.keys import DECIMALS, FORMS, KEYS
from sagger.views.plan.order import ORDER
from sagger.views.plan.rows import PlanTable, key_of, unit_of
from sagger.views.plan.whole import PLAN, REFUSED


@good
class Extra:
    """What the shop adds.

    A second paragraph is for readers of the code.
    """

    share: float = holds("of the price", "share")
    width: float = holds("None if it has none", "m", shown="um")
    gap_mm: float | None = holds("to the next", "mm", default=None)
    kind: str = holds("which", one_of=("hook", "eye"))
    heats: ndarray = holds("of the day", "K", length=2)
    inner: int = 3  # not told to people


@good
class Offer:
    """One way to make it."""

    name: str = holds("of the offer")
    extras: tuple[Extra, ...] = holds("dearest first")


def tables(kind: object = None) -> dict[str, PlanTable]:
    """Every table that a document is made of, by name."""
    if kind is None:
        return tables(PLAN) | tables(REFUSED)
    below = [row.kind for row in kind.rows] if isinstance(kind, PlanTable) else typing.get_args(kind)
    found = {kind.name: kind} if isinstance(kind, PlanTable) else {}
    for each in below:
        found |= tables(each)
    return found


def extra(**given: object) -> Extra:
    return Extra(**{"share": 0.125, "width": 3e-5, "kind": "eye", "heats": np.array([273.15, 300])} | given)


def test_a_described_field_is_all_that_a_figure_takes():
    assert plan.of(extra()) == {
        "share_percent": 12.5,
        "width_um": 30.0,
        "gap_mm": None,
        "kind": "eye",
        "heats_degC": [0.0, 26.85],
    }


def test_goods_in_a_field_bring_their_own_table():
    document = plan.of(Offer(name="quick", extras=(extra(gap_mm=0.1 + 0.2), extra(kind="hook"))))
    assert [each["gap_mm"] for each in document["extras"]] == [0.3, None]
    table = table_of(Extra)
    assert (table.name, table.meaning) == ("Extra", "What the shop adds.")
    assert [row.meaning for row in table.rows][:2] == ["of the price", "null if it has none"]


def test_every_key_of_a_document_says_what_it_means():
    silent = [
        f"{name}.{row.key}" for name, table in tables().items() for row in table.rows if not row.meaning
    ]
    assert silent == []


@pytest.mark.parametrize("told", [KEYS, FORMS, DECIMALS])
def test_what_is_told_of_a_field_is_told_of_one_that_is_described(told):
    for kind, names in told.items():
        fields = {field.name for field in dataclasses.fields(kind) if "meaning" in field.metadata}
        assert set(names) <= fields, kind.__name__


def test_the_order_of_keys_names_keys_that_are_there():
    rows = {name: {row.key for row in table.rows} for name, table in tables().items()}
    assert {
        name: set(keys.split()) - rows[name] for name, keys in ORDER.items() if set(keys.split()) - rows[name]
    } == {}


@pytest.mark.parametrize(
    ("key", "unit"), [("vapour_g_per_h", "g/h"), ("volume_mL", "mL"), ("percent", "%"), ("width_um", "um")]
)
def test_a_key_ends_in_its_unit(key, unit):
    assert unit_of(key) == unit
    assert f"_{key}".endswith(key_of("", unit))


def test_a_figure_that_is_not_finite_is_null_where_null_is_allowed():
    assert plan.of(extra(gap_mm=float("inf")))["gap_mm"] is None


def keys(table, path=""):
    """Every key of a table and of those below it, with the sort of value that stands there."""
    for row in table.rows:
        yield f"{path}{row.key}: {sort(row.kind)}{' or null' if row.optional else ''}"
        inner, mark = row.kind, ""
        while typing.get_origin(inner) is list:
            inner, mark = typing.get_args(inner)[0], f"{mark}[]"
        if isinstance(inner, PlanTable):
            yield from keys(inner, f"{path}{row.key}{mark}.")


def sort(kind):
    if isinstance(kind, PlanTable):
        return "table"
    origin = typing.get_origin(kind)
    words = {list: "list", tuple: "list", dict: "object", typing.Literal: "string"}
    plain = {float: "number", int: "integer", str: "string", bool: "boolean"}
    return words[origin] if origin else plain[kind]


def test_no_key_of_version_1_is_gone_or_holds_another_sort_of_value():
    """Other people's programs read them. The list only grows: a new key is written into it once it is out."""
    published = Path(__file__).with_name("plan_keys_1.txt").read_text("utf-8").splitlines()
    assert set(published) - set(keys(PLAN)) == set()
