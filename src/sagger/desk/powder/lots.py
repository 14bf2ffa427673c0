"""Powder lots: what is on the shelf, moving powder, and what a person should look at."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from pathlib import Path

from sagger import cards, units
from sagger.desk.home import card_folders, ledger
from sagger.errors import InputError, LawError, LotError
from sagger.files import lot as lot_file
from sagger.goods.finding import Finding
from sagger.goods.good import document, good
from sagger.goods.lot import Lot, Shelved
from sagger.goods.plain import Table
from sagger.ledger import entries, lots
from sagger.ledger.lots import Mover, named
from sagger.physics.powder import reuse
from sagger.stations import measure
from sagger.views.words import lots as view
from sagger.views.words.lots import LotDocument

LONG = 1000  # builds after which a charge that is made up each time is steady
ACCOUNT = ("received", "lots", "boxes", "pieces", "scrap", "lost")


@good
class LotList:
    """Every lot with powder in it, or every lot."""

    schema: str = "sagger-lots/1"
    lots: tuple[LotDocument, ...]


@good
class RefreshDocument:
    """How much virgin powder keeps old powder rare."""

    schema: str = "sagger-refresh/1"
    lot: str
    builds: int
    share: float
    old: float
    virgin_share: float
    virgin_kg: float
    virgin_share_each_build: float
    mean_builds_behind: float | None  # once it is steady; None if no virgin powder is needed
    share_twice_as_old: float | None


def lot(name: str) -> Lot:
    """The lot of this name as the ledger knows it now.

    Raises
    ------
    LotError
        If there is none.
    """
    return _one(name).lot


def shelf(*, empty: bool = False) -> tuple[LotList, list[str]]:
    """Every lot with powder in it, or every lot, with what a person should look at."""
    there = [each for each in lots.shelved(ledger()).values() if empty or each.mass > 0]
    seen = [(each, noticed(each)) for each in there]
    return LotList(lots=tuple(view.document(*each) for each in seen)), view.lines(seen)


def show(name: str) -> tuple[Table, list[str]]:
    """One lot: where it comes from, what was measured, what follows."""
    each = _one(name)
    seen = noticed(each)
    return document("sagger-lot/1", view.document(each, seen)), view.sheet(each, seen)


def size_picture(name: str) -> str:
    """The size curve of a lot as SVG, "" if none was measured."""
    curve = _one(name).lot.curve
    return view.size_picture(curve) if curve is not None else ""


def noticed(shelved: Shelved) -> tuple[Finding, ...]:
    """What a person should look at before a lot is used."""
    if shelved.lot.powder not in cards.names("powder", card_folders()):
        return ()  # the card was taken away since
    powder = cards.load("powder", shelved.lot.powder, card_folders())
    return measure.noticed(shelved.lot, powder, shelved.measured)


def receive(file: Path, mass: str, step: Mover) -> str:
    """Book a lot in from its file; says which entry it became."""
    arrived = lot_file.read(file)
    cards.load("powder", arrived.powder, card_folders())  # refuses a powder without a card
    number = lots.receive(ledger(), arrived, _kg(mass, "mass"), step)
    return f"entry {number}: lot {arrived.name}, {mass} of {arrived.powder}"


def sieve(source: str, into: str, masses: dict[str, str], file: Path | None, step: Mover) -> str:
    """Sieve a lot into a new one; masses are passed, oversize and taken ("" = all)."""
    made = _made(into, file)
    taken = _kg(masses["taken"], "taken") if masses["taken"] else 0.0
    passed, oversize = (_kg(masses[name], name) for name in ("passed", "oversize"))
    number = lots.sieve(ledger(), source, made, lots.Sieved(passed, oversize, taken), step)
    return f"entry {number}: lot {into}, {masses['passed']} sieved from {source}"


def blend(into: str, sources: Iterable[str], mass: str, file: Path | None, step: Mover) -> str:
    """Blend lots, each said as "name=mass", into a new one."""
    asked = _sources(sources)
    weighed = _kg(mass, "mass") if mass else None
    number = lots.blend(ledger(), asked, _made(into, file), step, weighed)
    return f"entry {number}: lot {into}, blended from {', '.join(asked)}"


def charge(box: str, sources: Iterable[str], step: Mover) -> str:
    """Put powder of lots, each said as "name=mass", into a box and its feed."""
    asked = _sources(sources)
    number = lots.charge(ledger(), box, asked, step)
    return f"entry {number}: box {box} charged with {', '.join(asked)}"


def recover(box: str, into: str, masses: dict[str, str], file: Path | None, step: Mover) -> str:
    """Empty a box into a new lot; masses are recovered, pieces and oversize."""
    weighed = lots.Recovered(*(_kg(masses[name], name) for name in ("recovered", "pieces", "oversize")))
    book = ledger()
    number = lots.recover(book, box, _made(into, file), weighed, step)
    charged = -lots.moved(book, number, "box")
    lost = lots.moved(book, number, "lost")
    return (
        f"entry {number}: lot {into}; of {charged:g} kg in box {box} {lost:g} kg ({lost / charged:.2%}) lost"
    )


def scrap(name: str, mass: str, step: Mover) -> str:
    """Throw powder of a lot away; "" = all that is left."""
    number = lots.scrap(ledger(), name, _kg(mass, "mass") if mass else 0.0, step)
    return f"entry {number}: {mass or 'all'} of lot {name} thrown away"


def measured(file: Path, step: Mover) -> str:
    """Add what was measured on a lot that is there."""
    found = lot_file.read(file)
    number = lots.measure(ledger(), found, step)
    return f"entry {number}: measured on lot {found.name}"


def refresh(name: str, builds: int, share: str) -> tuple[RefreshDocument, list[str]]:
    """How much virgin powder keeps old powder rare: in the next blend, and in every build from now on.

    Raises
    ------
    InputError
        If there is no such lot, or builds or share make no sense.
    """
    shelved = _one(name)
    allowed = units.read(share, "pure")
    ages = [1.0] if shelved.lot.exposures is None else list(shelved.lot.exposures)
    try:
        old = reuse.older(ages, builds)
        once, always = reuse.virgin_to_add(ages, builds, allowed), reuse.virgin_needed(builds, allowed)
    except LawError as error:
        raise InputError(str(error), field="builds, share") from None
    virgin, steady = shelved.mass * once / (1 - once), always > 0
    refreshed = RefreshDocument(
        lot=name,
        builds=builds,
        share=allowed,
        old=old,
        virgin_share=once,
        virgin_kg=virgin,
        virgin_share_each_build=always,
        mean_builds_behind=reuse.mean_age_after(always, LONG) if steady else None,
        share_twice_as_old=reuse.share_older(always, 2 * builds) if steady else None,
    )
    lines = [f"lot {name}: {old:.2%} went through {builds} builds or more, {allowed:.2%} may"]
    lines.append(f"next blend: {once:.2%} virgin, {virgin:.3f} kg to the {shelved.mass:.3f} kg on the shelf")
    lines.append(f"every build, once it is steady: {always:.2%} virgin (well mixed charge)")
    if refreshed.mean_builds_behind is not None:
        mean, older = refreshed.mean_builds_behind, refreshed.share_twice_as_old
        lines.append(f"then {mean:.2f} builds lie behind it on average, and {2 * builds} or more {older:.2%}")
    return refreshed, lines


def _made(name: str, file: Path | None) -> Lot:
    """A lot that is about to be made, with what a file says was measured on it."""
    return dataclasses.replace(lot_file.read(file), name=name) if file else named(name)


def _sources(texts: Iterable[str]) -> dict[str, float]:
    """Masses [kg] by lot, from "name=12 kg"."""
    masses: dict[str, float] = {}
    for text in texts:
        name, sign, mass = text.rpartition("=")
        if not sign or not name:
            raise InputError(
                "a source is said as name=mass", field="of", value=text, remedy="Write L1='12 kg'."
            )
        if name in masses:
            raise InputError("the same lot is said twice", field="of", value=name)
        masses[name] = _kg(mass, name)
    return masses


def _kg(text: str, field: str) -> float:
    try:
        return units.read(text, "mass")
    except InputError as error:
        raise InputError(error.what, field=field, value=text, remedy=error.remedy) from None


def closing() -> tuple[Table, list[str]]:
    """Whether mass closes and no entry was changed after it was written.

    Raises
    ------
    LedgerError, InputError
        At the first thing that is wrong.
    """
    book = ledger()
    sealed, account = entries.check(book), lots.account(book)
    closed = document("sagger-closing/1", account) | document("sagger-closing/1", sealed)
    lines = [f"{name:<10}{getattr(account, name):>14.6f} kg" for name in ACCOUNT]
    lines.append(f"mass closes to {account.gap:.6f} kg" if account.gap else "mass closes exactly")
    if sealed.entries:
        lines.append(f"{sealed.entries} entries follow one from the other; seal of the last: {sealed.seal}")
    return closed, lines


def _one(name: str) -> Shelved:
    there = lots.shelved(ledger())
    if name not in there:
        remedy = "`sagger lots` lists them, `sagger lots receive` books one in; a lot file ends in .toml."
        raise LotError("no lot of the ledger has this name", field="lot", value=name, remedy=remedy)
    return there[name]
