"""Learning from coupons and parts: labels, proposals, maps of the bed."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np

from sagger import cards
from sagger.desk.home import card_folders, ledger
from sagger.errors import InputError
from sagger.geometry import dots
from sagger.goods.factors import Factors
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.goods.reading import Reading
from sagger.ledger import Ledger, learned, printed, readings
from sagger.stations import measure, shrink
from sagger.views import learned as view

Told = tuple[dict[str, Any], list[str]]


def label(text: str) -> Told:
    """What the dots on a coupon say, as a document and as lines.

    Raises
    ------
    InputError
        If no label has these dots.
    """
    series, place = dots.told(text)
    document = {"schema": "sagger-label/1", "series": series, "place": place}
    return document, [f"series {series}, place {place}: its name ends in {series}-{place:02d}"]


def propose(material: str, box: str, boxes: tuple[str, ...], person: str, lot: str = "") -> Told:
    """Learn from the readings of a powder, and keep what follows as a proposal.

    Parameters
    ----------
    material, box : str
        Names of the powder card, and of the box card whose bed is mapped ("" = none).
    boxes : tuple of str
        Only readings from these printed boxes; empty = from all.
    person : str
        Who asks.
    lot : str
        Only readings of this lot, for factors that hold for it alone; "" = for every lot.

    Raises
    ------
    InputError
        If there are too few readings, or it is not known how large a piece was printed.
    """
    book = ledger()
    powder = cards.load("powder", material, card_folders())
    room = cards.load("box", box, card_folders()) if box else None
    found = tuple(
        reading for reading in readings.listed(book, powder=material) if not boxes or reading.box in boxes
    )
    found = tuple(reading for reading in found if not lot or lot in reading.lot.split(" + "))
    before = _before(book, powder, box, lot)
    proposal = measure.learn(found, drawn_mm(book, found), before, powder, room)
    number = learned.propose(book, proposal, person)
    return view.document(proposal, number), view.lines(proposal, number)


def _before(book: Ledger, powder: Powder, box: str, lot: str) -> Factors:
    """Factors in force; for a lot without its own, those of the powder, less sure by how lots differ."""
    approved = learned.in_force(book, powder.name, box, lot)
    factors = approved.factors or shrink.predict(powder, Choices())
    if not lot or factors.lot == lot:
        return factors
    apart = approved.scatter.lot if approved.scatter is not None else 0.0
    return dataclasses.replace(factors, lot=lot, u=np.hypot(factors.u, factors.k * apart))


def drawn_mm(book: Ledger, found: tuple[Reading, ...]) -> np.ndarray:
    """Length that was drawn for each reading [mm], oversize and bleed included; 0 where it is no length.

    Raises
    ------
    InputError
        If a box says nothing of its oversize.
    """
    known = printed.drawn(book)
    lengths = []
    for reading in found:
        if reading.kind != "length" or reading.nominal is None or not reading.axis:
            lengths.append(0.0)
            continue
        own = known.get((reading.box, reading.piece), known.get((reading.box, "")))
        if own is None:
            what = f"it is not known at which oversize box {reading.box!r} was printed"
            raise InputError(what, field="box", value=reading.box, remedy="Book it with its job, or with k.")
        axis = "xyz".index(reading.axis)
        lengths.append(reading.nominal * 1e3 * float(own.k[axis]) - float(own.less_mm[axis]))
    return np.array(lengths)


def waiting() -> list[dict[str, Any]]:
    """The proposals that nobody approved yet, newest first, as documents."""
    book = ledger()
    return [view.document(learned.proposal(book, number), number) for number in learned.waiting(book)]


def approve(number: int, person: str, reason: str) -> str:
    """Put a proposal in force; says which entry it became.

    Raises
    ------
    InputError
        If it was blocked or approved already.
    """
    entry = learned.approve(ledger(), number, person, reason)
    proposal = learned.proposal(ledger(), number)
    k: Factors = proposal.factors
    sizes = "  ".join(f"{axis} {value:.5f}" for axis, value in zip("xyz", k.k, strict=True))
    where = f", and the map of {proposal.box}" if proposal.box else ""
    if all(axis.verdict == "keep" for axis in proposal.axes):
        return f"entry {entry}: factors in {proposal.material} stay; scatter{where} renewed"
    whose = f"{proposal.material}, lot {proposal.lot}," if proposal.lot else proposal.material
    return f"entry {entry}: from now on jobs in {whose} use {sizes}{where}"


def bed(material: str, box: str, into: Path | None) -> Told:
    """How even the approved map of a bed is, and a picture of it if asked.

    Raises
    ------
    InputError
        If no map is approved.
    """
    approved = learned.in_force(ledger(), material, box).bed
    if approved is None:
        remedy = "`sagger learn propose` makes one from coupons."
        raise InputError("no map of this bed is approved", field="box", value=box, remedy=remedy)
    room = cards.load("box", box, card_folders())
    even = measure.bed.uniformity(approved, room)
    document = {
        "schema": "sagger-bed/1",
        "material": material,
        "box": box,
        "mean": even.mean,
        "spread": even.spread,
        "most": even.most,
        "slopes": even.slopes.tolist(),
        "u": even.u,
        "places_mm": approved.places_mm.tolist(),
        "density": approved.density.tolist(),
    }
    lines = view.bed_lines(approved, even)
    if into is not None:
        at = view.grid(room, float(approved.places_mm[:, 2].mean()))
        into.write_text(view.bed_picture(approved, room, measure.bed.over(approved, at).mean, at), "utf-8")
        lines.append(f"picture: {into}")
    return document, lines
