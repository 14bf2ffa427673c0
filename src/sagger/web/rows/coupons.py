"""Rows of coupons while they are edited."""

from __future__ import annotations

from collections.abc import Mapping

from sagger.goods.good import plain
from sagger.goods.plain import Table

TABLE = "coupon"
NEW: Table = {"kind": "steps", "places": "nine", "series": 1}

Coupons = list[Table]


def as_entered(entries: Mapping[str, object]) -> Coupons:
    """The rows that the fields say now, by the places of `entries`."""
    rows: dict[int, Table] = {}
    for place, value in entries.items():
        where, _, key = place.rpartition(", ")
        if where.startswith(f"[[{TABLE}]] "):
            rows.setdefault(int(where.rpartition(" ")[2]), {})[key] = plain(value)
    return [rows[number] for number in sorted(rows)]


def added(rows: Coupons) -> Coupons:
    """The rows with a new one, of a series that no other has."""
    series = max((_series(row) for row in rows), default=0) + 1
    return [*rows, NEW | {"series": series}]


def removed(rows: Coupons, number: int) -> Coupons:
    """The rows without one, counted from 1."""
    return [row for place, row in enumerate(rows, 1) if place != number]


def _series(row: Mapping[str, object]) -> int:
    series = row.get("series")
    return int(series) if isinstance(series, int | float) and series else 1
