"""Movements of powder in the order in which they hold, and the rules that they must keep."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import sqlalchemy as sa

from sagger.errors import InputError
from sagger.goods.good import good
from sagger.ledger import tables

WHATS = ("receive", "sieve", "blend", "charge", "recover", "scrap")
MG = 1_000_000  # in a kilogram

Posting = tuple[str, str, int]  # place, name, milligrams gained


class Movement(NamedTuple):
    entry: int
    what: str
    postings: list[Posting]
    powder: str  # card of a lot that is received; "" = that of what it is made from

    @property
    def taken(self) -> list[tuple[str, str, int]]:
        """Lots and boxes that it took from, with milligrams."""
        return [(place, name, -mg) for place, name, mg in self.postings if place in _HELD and mg < 0]

    def given(self, place: str) -> list[tuple[str, int]]:
        """Lots ("lot") or boxes ("box") that it gave to, with milligrams."""
        return [(name, mg) for where, name, mg in self.postings if where == place and mg > 0]


_HELD = ("lot", "box")  # places that powder is taken from by name


@good
class TracedLots:
    """What the movements say without any measurement."""

    powders: dict[tuple[str, str], str]  # card of every lot and every charged box, by place and name
    emptied: frozenset[str]  # boxes


def in_force(connection: sa.Connection) -> list[Movement]:
    """Movements in order; a correction stands where the entry stood that it replaces."""
    query = sa.select(tables.entry.c.id, tables.entry.c.what, tables.entry.c.corrects)
    rows = connection.execute(query.where(tables.entry.c.what.in_(WHATS)).order_by(tables.entry.c.id)).all()
    root: dict[int, int] = {}
    for row in rows:
        root[row.id] = root[row.corrects] if row.corrects else row.id
    replaced = {row.corrects for row in rows}
    postings = dict(_postings(connection))
    lots = connection.execute(sa.select(tables.lot.c.entry, tables.lot.c.powder))
    received = {row.entry: row.powder for row in lots}
    kept = sorted((row for row in rows if row.id not in replaced), key=lambda row: root[row.id])
    return [Movement(row.id, row.what, postings.get(row.id, []), received.get(row.id, "")) for row in kept]


def with_new(moves: list[Movement], new: Movement, corrects: int | None) -> list[Movement]:
    """The movements with one more at their end, or in the place of the one that it corrects."""
    if corrects is None:
        return [*moves, new]
    return [new if move.entry == corrects else move for move in moves]


def trace(moves: Iterable[Movement]) -> TracedLots:
    """What follows from the movements.

    Raises
    ------
    InputError
        If a lot is made twice, used before it is made, or of two powders; or a box is charged again after it
        was emptied, or twice with different powders.
    """
    powders: dict[tuple[str, str], str] = {}
    emptied: set[str] = set()
    for move in moves:
        powder = _powder(move, powders)
        for name, _ in move.given("lot"):
            if ("lot", name) in powders:
                remedy = "Give the new one its own, such as the old name with a date."
                raise InputError("there is a lot of that name", field="lot", value=name, remedy=remedy)
            powders["lot", name] = powder
        for name, _ in move.given("box"):
            if name in emptied:
                raise InputError("this box was emptied already", field="box", value=name)
            if powders.setdefault(("box", name), powder) != powder:
                raise InputError(f"this box holds {powders['box', name]}", field="box", value=name)
        emptied |= {name for place, name, _ in move.taken if place == "box"}
    return TracedLots(powders=powders, emptied=frozenset(emptied))


def balances(moves: Iterable[Movement]) -> dict[tuple[str, str], int]:
    """Milligrams by place and name."""
    held: dict[tuple[str, str], int] = {}
    for move in moves:
        for place, name, mg in move.postings:
            held[place, name] = held.get((place, name), 0) + mg
    return held


def refuse_overdrawn(held: dict[tuple[str, str], int]) -> None:
    """Nothing, unless a lot or a box holds less than nothing; then `InputError`."""
    for (place, name), mg in held.items():
        if place in _HELD and mg < 0:
            what = f"{place} {name} does not hold that much: {-mg / MG:g} kg are missing"
            raise InputError(what, field=place, value=name, remedy="Check the masses.")


def _powder(move: Movement, powders: dict[tuple[str, str], str]) -> str:
    """The card of what is moved; all of it must be of one."""
    of = {move.powder} if move.powder else set()
    for place, name, _ in move.taken:
        if (place, name) not in powders:
            fault = f"entry {move.entry} takes powder from a {place} that is not there yet"
            remedy = "`sagger lots` lists the lots; a correction cannot use what came later."
            raise InputError(fault, field=place, value=name, remedy=remedy)
        of.add(powders[place, name])
    if len(of) > 1:
        fault = "powders of two cards are not poured together"
        raise InputError(fault, field="powder", value=" and ".join(sorted(of)))
    return next(iter(of), "")


def _postings(connection: sa.Connection) -> Iterator[tuple[int, list[Posting]]]:
    by_entry: dict[int, list[Posting]] = {}
    for row in connection.execute(sa.select(tables.posting).order_by(tables.posting.c.id)):
        by_entry.setdefault(row.entry, []).append((row.place, row.name, row.mg))
    return iter(by_entry.items())
