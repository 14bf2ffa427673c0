"""Powder that comes, is sieved and blended, goes into boxes, comes back and leaves: mass by double entry.

Every movement takes as much from one place as it gives to others, in whole milligrams, so mass closes exactly
whatever is written; what a balance did not find again stands under "lost".
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.good import good
from sagger.goods.lot import Lot, Shelved
from sagger.ledger import bodies, composition, entries, movements, tables
from sagger.ledger.movements import MG, Movement, Posting
from sagger.ledger.store import Ledger, Row

Held = dict[tuple[str, str], int]  # milligrams by place and name
CLOSES = 0.01  # a balance may find this much more than went in; common practice, no source


@good
class Account:
    """Where all the powder is that ever came in [kg]."""

    received: float
    lots: float  # on the shelf
    boxes: float  # in boxes that are not emptied
    pieces: float
    scrap: float
    lost: float  # dust, trapped, and what balances differ by
    gap: float  # received less all the others: 0 if mass closes


@good
class Mover:
    """Who moves powder and why."""

    person: str
    note: str = ""
    corrects: int | None = None  # number of the entry that this one replaces
    once: bool = False  # refuse what the newest such entry of this person says already


def receive(ledger: Ledger, lot: Lot, mass: float, step: Mover) -> int:
    """Number of the entry with which a lot came into the shop.

    Parameters
    ----------
    lot : Lot
        As its certificate says; exposures None = virgin.
    mass : float
        [kg]

    Raises
    ------
    InputError
        If the mass is not above 0, or a lot of that name is there.
    """
    if not lot.powder:
        raise InputError("a lot needs the name of its powder card", field="powder")
    mg = _mg(mass, "mass")
    return _move(ledger, "receive", lambda held: [("outside", "", -mg), ("lot", lot.name, mg)], step, lot)


class Sieved(NamedTuple):
    """What was weighed when powder was sieved [kg]."""

    passed: float
    oversize: float
    taken: float = 0.0  # put on the sieve; 0 = all that is on the shelf


class Recovered(NamedTuple):
    """What was weighed when a box was emptied [kg]."""

    mass: float  # loose powder
    pieces: float  # powder in the pieces: their green mass less the binder in it
    oversize: float = 0.0  # left on the sieve and thrown away


def sieve(ledger: Ledger, source: str, into: Lot, weighed: Sieved, step: Mover) -> int:
    """Number of the entry with which powder of a lot was sieved into a new lot.

    Parameters
    ----------
    source : str
        Name of the lot that is sieved.
    into : Lot
        The new lot: its name, and what was measured on it.
    weighed : Sieved
        What is missing afterwards is lost.

    Raises
    ------
    InputError
        If the lot holds less, or more came out than went in.
    """
    fed = _mg(weighed.taken, "taken") if weighed.taken else 0
    out = [("lot", into.name, _mg(weighed.passed, "passed"))]
    out += [("scrap", "", _mg(weighed.oversize, "oversize", least=0))]

    def postings(held: Held) -> list[Posting]:
        return _closed([("lot", source, -(fed or _all(held, "lot", source)))], out)

    return _move(ledger, "sieve", postings, step, into)


def blend(
    ledger: Ledger, sources: Mapping[str, float], into: Lot, step: Mover, mass: float | None = None
) -> int:
    """Number of the entry with which lots were blended into a new one.

    Parameters
    ----------
    sources : mapping of str to float
        Mass that is taken of each lot [kg].
    into : Lot
        The new lot: its name, and what was measured on it.
    mass : float, optional
        Weighed afterwards [kg]; None = all of it.
    """
    taken = [("lot", name, -_mg(each, name)) for name, each in sources.items()]
    total = -sum(mg for _, _, mg in taken)
    out = [("lot", into.name, total if mass is None else _mg(mass, "mass"))]
    return _move(ledger, "blend", lambda held: _closed(taken, out), step, into)


def charge(ledger: Ledger, box: str, sources: Mapping[str, float], step: Mover) -> int:
    """Number of the entry with which powder of one or more lots [kg] went into a box and its feed."""
    if not box.strip():
        raise InputError("a box needs a name", field="box")
    taken = [("lot", name, -_mg(each, name)) for name, each in sources.items()]
    into = ("box", box, -sum(mg for _, _, mg in taken))
    return _move(ledger, "charge", lambda held: [*taken, into], step)


def recover(ledger: Ledger, box: str, into: Lot, weighed: Recovered, step: Mover) -> int:
    """Number of the entry with which a box was emptied and its loose powder became a lot one build older.

    Parameters
    ----------
    box : str
        Name of the box.
    into : Lot
        The new lot: its name, and what was measured on it.
    weighed : Recovered
        What is missing of the charge is lost.
    """
    out = [("lot", into.name, _mg(weighed.mass, "mass"))]
    out += [("pieces", box, _mg(weighed.pieces, "pieces", least=0))]
    out += [("scrap", "", _mg(weighed.oversize, "oversize", least=0))]

    def postings(held: Held) -> list[Posting]:
        return _closed([("box", box, -_all(held, "box", box))], out)

    return _move(ledger, "recover", postings, step, into)


def scrap(ledger: Ledger, name: str, mass: float, step: Mover) -> int:
    """Number of the entry with which powder of a lot was thrown away [kg]; 0 = all of it."""
    some = _mg(mass, "mass") if mass else 0

    def postings(held: Held) -> list[Posting]:
        mg = some or _all(held, "lot", name)
        return [("lot", name, -mg), ("scrap", "", mg)]

    return _move(ledger, "scrap", postings, step)


def measure(ledger: Ledger, lot: Lot, step: Mover) -> int:
    """Number of the entry that adds what was measured on a lot that is there; no powder moves."""
    body = bodies.put(ledger, lot)
    with ledger.writing() as connection:
        if ("lot", lot.name) not in movements.trace(movements.in_force(connection)).powders:
            raise InputError("no lot of the ledger has this name", field="lot", value=lot.name)
        rows = {"lot": [{"name": lot.name, "body": body}]}
        if step.once and step.corrects is None:  # said again, it means nothing more
            return entries.add_once(connection, "measure", step.person, rows, step.note)
        return entries.add(connection, "measure", step.person, rows, step.note, step.corrects)


def shelved(ledger: Ledger) -> dict[str, Shelved]:
    """Every lot by name, in the order in which they came to be."""
    with ledger.reading() as connection:
        return composition.shelf(ledger, connection)


def moved(ledger: Ledger, entry: int, place: str) -> float:
    """What a place gained by an entry [kg]."""
    table = tables.posting.c
    query = sa.select(sa.func.sum(table.mg)).where(table.entry == entry, table.place == place)
    with ledger.reading() as connection:
        return int(connection.execute(query).scalar() or 0) / MG


def account(ledger: Ledger) -> Account:
    """Where all powder is, and what does not close.

    Raises
    ------
    LedgerError
        If an entry takes more than it gives.
    InputError
        If a movement breaks a rule, or a lot or box holds less than nothing.
    """
    with ledger.reading() as connection:
        moves = movements.in_force(connection)
    for move in moves:
        if total := sum(mg for _, _, mg in move.postings):
            raise LedgerError(f"entry {move.entry} ({move.what}) makes {total / MG:g} kg out of nothing")
    movements.trace(moves)
    held = movements.balances(moves)
    movements.refuse_overdrawn(held)
    by_place = dict.fromkeys(("outside", "lot", "box", "pieces", "scrap", "lost"), 0)
    for (place, _), mg in held.items():
        by_place[place] += mg
    return Account(
        received=-by_place["outside"] / MG,
        lots=by_place["lot"] / MG,
        boxes=by_place["box"] / MG,
        pieces=by_place["pieces"] / MG,
        scrap=by_place["scrap"] / MG,
        lost=by_place["lost"] / MG,
        gap=-sum(by_place.values()) / MG,
    )


def named(name: str) -> Lot:
    """A lot that has yet to be made and on which nothing was measured."""
    return Lot(name=name, powder="", origin="")


def _move(
    ledger: Ledger, kind: str, postings: Callable[[Held], list[Posting]], step: Mover, made: Lot | None = None
) -> int:
    """Number of the new entry; a movement that breaks a rule is undone by the error that says so."""
    if made is not None and not made.name.strip():
        raise InputError("a lot needs a name", field="lot")
    rows: dict[str, list[Row]] = {}
    if made is not None:
        rows["lot"] = [{"name": made.name, "powder": made.powder, "body": bodies.put(ledger, made)}]
    with ledger.writing() as connection:
        there = movements.in_force(connection)
        asked = postings(movements.balances(move for move in there if move.entry != step.corrects))
        rows["posting"] = [{"place": place, "name": name, "mg": mg} for place, name, mg in asked if mg]
        if step.once and step.corrects is None:
            entries.refuse_twin(connection, kind, step.person, rows, step.note)
        number = entries.add(connection, kind, step.person, rows, step.note, step.corrects)
        moves = movements.with_new(
            there, Movement(number, kind, asked, made.powder if made else ""), step.corrects
        )
        movements.trace(moves)
        movements.refuse_overdrawn(movements.balances(moves))
    return number


def _closed(taken: list[Posting], out: list[Posting]) -> list[Posting]:
    """Postings that sum to 0: what did not come out is lost."""
    fed, came_out = -sum(mg for _, _, mg in taken), sum(mg for _, _, mg in out)
    if came_out > fed * (1 + CLOSES):
        what = f"{came_out / MG:g} kg came out of {fed / MG:g} kg, more than {CLOSES:.0%} too much"
        raise InputError(what, field="mass", remedy="Weigh again; common practice is a balance within 1 %.")
    return [*taken, *out, ("lost", "", fed - came_out)]


def _all(held: Held, place: str, name: str) -> int:
    mg = held.get((place, name), 0)
    if mg <= 0:
        raise InputError(f"there is no powder in {place} {name}", field=place, value=name)
    return mg


def _mg(mass: float, field: str, least: int = 1) -> int:
    mg = round(mass * MG) if abs(mass) < 1e9 else -1
    if mg < least:
        what = "a mass must be above 0" if least else "a mass cannot be negative"
        raise InputError(what, field=field, value=f"{mass:g} kg")
    return mg
