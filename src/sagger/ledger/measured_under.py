"""The conditions that approved factors were measured under."""

from __future__ import annotations

import dataclasses
import json

import sqlalchemy as sa

from sagger.goods.factors import Conditions
from sagger.goods.good import plain
from sagger.goods.plain import restored
from sagger.goods.powder import Segment
from sagger.ledger import tables
from sagger.ledger.store import Row

NAMES = tuple(field.name for field in dataclasses.fields(Conditions))


def row(conditions: Conditions) -> Row:
    """Conditions as the book holds them."""
    cells: Row = {name: getattr(conditions, name) for name in NAMES}
    return cells | {"programme": json.dumps(plain(conditions.programme))}


def by_entry(connection: sa.Connection) -> dict[int, Conditions]:
    """Conditions of all approved factors that have some, by the entry of the approval."""
    table = tables.conditions.c
    query = sa.select(table.entry, *(table[name] for name in NAMES))
    found = connection.execute(query).mappings().all()
    return {cells["entry"]: _conditions(cells) for cells in found}


def _conditions(cells: sa.RowMapping) -> Conditions:
    programme = tuple(restored(Segment, stretch) for stretch in json.loads(cells["programme"]))
    facts = {name: cells[name] for name in NAMES}
    return Conditions(**(facts | {"programme": programme}))
