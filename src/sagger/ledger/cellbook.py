"""The book of a cell: orders, promises, events and plans, each a sealed entry; nothing is overwritten."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import TypeVar

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.asked import AskedOrder, CellEvent, CellPlan, GivenPromise
from sagger.goods.good import Key, good
from sagger.ledger import bodies, entries, tables
from sagger.ledger.lots import Mover
from sagger.ledger.store import Ledger, Row

FIXING = ("fixed", "freed")
T = TypeVar("T", AskedOrder, CellEvent, CellPlan, GivenPromise)


@good
class CellBook:
    """What the book says now."""

    orders: tuple[AskedOrder, ...]  # with the promise given last
    events: tuple[tuple[int, CellEvent], ...]  # with their entries
    promises: tuple[GivenPromise, ...]
    plan: CellPlan | None  # accepted last
    entry: int  # of that plan; 0 = none

    def since_plan(self) -> tuple[CellEvent, ...]:
        """What was said after the plan was accepted; machines down and fixed builds from any time."""
        fixed = set(self.fixed())
        return tuple(
            event
            for entry, event in self.events
            if (event.kind == "fixed" and event.subject in fixed)
            or event.kind == "down"
            or (entry > self.entry and event.kind not in FIXING)
        )

    def fixed(self) -> tuple[str, ...]:
        """Builds that are to stay where the plan has them, as "order/build": fixed, and since then neither
        freed nor scrapped."""
        subjects: dict[str, None] = {}
        for _, event in self.events:
            if event.kind == "fixed":
                subjects[event.subject] = None
            elif event.kind in ("freed", "scrapped"):
                subjects.pop(event.subject, None)
        there = {f"{order.name}/{one.label}" for order in self.open_orders() for one in order.builds}
        return tuple(subject for subject in subjects if subject in there)

    def delivered(self) -> dict[str, str]:
        """ISO moment at which each order that is gone was delivered."""
        return {event.subject: event.at for _, event in self.events if event.kind == "delivered"}

    def open_orders(self) -> tuple[AskedOrder, ...]:
        """Orders that are not delivered."""
        gone = self.delivered()
        return tuple(order for order in self.orders if order.name not in gone)


NOTHING = CellBook(orders=(), events=(), promises=(), plan=None, entry=0)


def order(ledger: Ledger, asked: Iterable[AskedOrder], step: Mover) -> int:
    """Number of the entry that books orders; with `corrects` it takes the place of an earlier one.

    Raises
    ------
    InputError
        If an order of that name is in the book, or there is nothing to book.
    """
    rows = [_row(ledger, "order", one.name, one) for one in asked]
    names = [str(row["name"]) for row in rows]
    if not names:
        raise InputError("there is no order to book", field="order")
    with ledger.writing() as connection:
        query = _in_force("order").where(tables.cell.c.name.in_(names))
        known = [row.name for row in connection.execute(query) if row.entry != step.corrects]
        twice = known or [name for name in names if names.count(name) > 1]
        if twice:
            remedy = "Give it another name, or correct its entry."
            raise InputError("an order of that name is booked", field="order", value=twice[0], remedy=remedy)
        return entries.add(connection, "cell order", step.person, {"cell": rows}, step.note, step.corrects)


def promise(ledger: Ledger, given: GivenPromise, step: Mover) -> int:
    """Number of the entry that says what a customer was told."""
    return _add(ledger, "promise", given.order, given, step)


def event(ledger: Ledger, happened: CellEvent, step: Mover) -> int:
    """Number of the entry that says what happened."""
    return _add(ledger, "event", happened.subject, happened, step)


def accept(ledger: Ledger, plan: CellPlan, after: int, step: Mover) -> int:
    """Number of the entry by which a plan is in force.

    Parameters
    ----------
    after : int
        Entry of the plan that it was made from; 0 = none.

    Raises
    ------
    LedgerError
        If another plan was accepted meanwhile.
    """
    row = _row(ledger, "plan", plan.stand, plan)
    with ledger.writing() as connection:
        query = sa.select(sa.func.max(tables.cell.c.entry)).where(tables.cell.c.kind == "plan")
        last = connection.execute(query).scalar() or 0
        if last != after:
            raise LedgerError(f"another plan was accepted meanwhile (entry {last}); plan again")
        return entries.add_once(connection, "cell plan", step.person, {"cell": [row]}, step.note)


def newest(ledger: Ledger) -> int:
    """Number of the last entry of the book; 0 if it is empty. It says whether anything changed."""
    with ledger.reading() as connection:
        return connection.execute(sa.select(sa.func.max(tables.cell.c.entry))).scalar() or 0


def book(ledger: Ledger) -> CellBook:
    """What the book says now."""
    with ledger.reading() as connection:
        rows = {kind: connection.execute(_in_force(kind)).all() for kind in ("order", "promise", "event")}
        last = connection.execute(
            _in_force("plan").order_by(None).order_by(tables.cell.c.id.desc()).limit(1)
        ).first()
    promises = tuple(bodies.get(ledger, Key[GivenPromise](row.body)) for row in rows["promise"])
    by_order = {given.order: given.by for given in promises}
    orders = (bodies.get(ledger, Key[AskedOrder](row.body)) for row in rows["order"])
    return CellBook(
        orders=tuple(dataclasses.replace(one, promised=by_order.get(one.name, "")) for one in orders),
        events=tuple((row.entry, bodies.get(ledger, Key[CellEvent](row.body))) for row in rows["event"]),
        promises=promises,
        plan=bodies.get(ledger, Key[CellPlan](last.body)) if last else None,
        entry=last.entry if last else 0,
    )


def _add(ledger: Ledger, kind: str, name: str, value: T, step: Mover) -> int:
    row = _row(ledger, kind, name, value)
    with ledger.writing() as connection:
        if step.once and step.corrects is None:
            entries.refuse_twin(connection, f"cell {kind}", step.person, {"cell": [row]}, step.note)
        return entries.add(connection, f"cell {kind}", step.person, {"cell": [row]}, step.note, step.corrects)


def _row(ledger: Ledger, kind: str, name: str, value: T) -> Row:
    return {"kind": kind, "name": name, "body": bodies.put(ledger, value)}


def _in_force(kind: str) -> sa.Select[tuple[int, str, str]]:
    table = tables.cell.c
    query = sa.select(table.entry, table.name, table.body).where(table.kind == kind)
    return query.where(table.entry.not_in(entries.superseded())).order_by(table.id)
