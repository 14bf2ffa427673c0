"""Learning from coupons and parts: labels, proposals, maps of the bed."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np

from sagger import cards
from sagger.desk.home import card_folders, ledger
from sagger.desk.measuring import approvals, conditions, levering
from sagger.desk.measuring.conditions import NOTHING
from sagger.errors import InputError
from sagger.geometry.surface import dots
from sagger.goods.box import Box
from sagger.goods.factors import Conditions, Factors
from sagger.goods.good import good
from sagger.goods.learned import FactorProposal
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.goods.reading import Reading
from sagger.ledger import Ledger, boxes, learned, printed, readings
from sagger.stations import measure, shrink
from sagger.statistics import chance
from sagger.views.words import learned as view
from sagger.views.words.learned import ProposalDocument


@good
class LabelDocument:
    """What the dots on a coupon say."""

    schema: str = "sagger-label/1"
    series: int
    place: int


@good
class BedDocument:
    """How even the approved map of a bed is."""

    schema: str = "sagger-bed/1"
    material: str
    box: str
    mean: float
    spread: float
    most: float
    slopes: np.ndarray
    u: float
    places_mm: np.ndarray
    density: np.ndarray


def label(text: str) -> tuple[LabelDocument, list[str]]:
    """What the dots on a coupon say, as a document and as lines.

    Raises
    ------
    InputError
        If no label has these dots.
    """
    series, place = dots.told(text)
    return LabelDocument(series=series, place=place), [
        f"series {series}, place {place}: its name ends in {series}-{place:02d}"
    ]


def propose(
    material: str, box: str, boxes: tuple[str, ...], person: str, lot: str = ""
) -> tuple[ProposalDocument, list[str]]:
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
    chosen = tuple(
        reading for reading in readings.listed(book, powder=material) if not boxes or reading.box in boxes
    )
    chosen = tuple(reading for reading in chosen if not lot or lot in reading.lot.split(" + "))
    before = _before(book, powder, box, lot)
    proposal = _learnt(book, chosen, before, powder, room)
    known = conditions.of_readings(book, chosen, powder.name) or conditions.stated(powder.name, NOTHING)
    if proposal.factors.conditions is None:
        proposal = _under(proposal, known)
    number = learned.propose(book, proposal, person)
    return view.document(proposal, number), view.lines(proposal, number)


def _learnt(
    book: Ledger, chosen: tuple[Reading, ...], before: Factors, powder: Powder, room: Box | None
) -> FactorProposal:
    """From lengths alone as ever; where lines of drawings were read, from all sizes at once."""
    if not any((reading.kind, reading.state) == ("dimension", "sintered") for reading in chosen):
        return measure.learn(chosen, drawn_mm(book, chosen), before, powder, room)
    mine = levering.levered(book, chosen)
    proposal = measure.learn_drawn(mine.measured, chosen, before, powder, room)
    return dataclasses.replace(proposal, notes=(*proposal.notes, *mine.notes))


def _under(proposal: FactorProposal, known: Conditions | None) -> FactorProposal:
    """The proposal with what its factors were measured under, and what the balance of mass makes of them."""
    factors = dataclasses.replace(proposal.factors, conditions=known)
    words = [f"measured under {known.basis}"] if known else []
    found = shrink.balance(factors) if known else None
    if found is not None and found.level != "ok":
        words.append(found.text)
    return dataclasses.replace(proposal, factors=factors, notes=(*proposal.notes, *words))


def _before(book: Ledger, powder: Powder, box: str, lot: str) -> Factors:
    """Factors in force; for a lot without its own, those of the powder, less sure by how lots differ."""
    approved = learned.in_force(book, powder.name, box, lot)
    factors = approved.factors or shrink.predict(powder, Choices())
    if not lot or factors.lot == lot:
        return factors
    apart = approved.scatter.lot if approved.scatter is not None else 0.0
    return dataclasses.replace(factors, lot=lot, u=chance.combined_by_result((factors.u, factors.k * apart)))


def drawn_mm(book: Ledger, measured: tuple[Reading, ...]) -> np.ndarray:
    """Length that was drawn for each reading [mm], oversize and bleed included; 0 where it is no length.

    Raises
    ------
    InputError
        If a box says nothing of its oversize.
    """
    known = printed.drawn(book)
    lengths = []
    for reading in measured:
        if reading.kind != "length" or reading.nominal is None or not reading.axis:
            lengths.append(0.0)
            continue
        own = known.get((reading.box, reading.piece), known.get((reading.box, "")))
        if own is None:
            raise _unknown(book, reading)
        axis = "xyz".index(reading.axis)
        lengths.append(reading.nominal * 1e3 * float(own.k[axis]) - float(own.less_mm[axis]))
    return np.array(lengths)


def _unknown(book: Ledger, reading: Reading) -> InputError:
    """Why it is not known how large a piece was printed: no such piece, or the box says nothing."""
    labels = boxes.labels(book).get(reading.box, frozenset())
    if labels and reading.piece not in labels:
        stray = f"reading {reading.number} is of {reading.piece!r}, which box {reading.box!r} does not hold"
        remedy = (
            f"`sagger readings void {reading.number}` with the reason, then enter it for the right piece."
        )
        return InputError(stray, field="piece", value=reading.piece, remedy=remedy)
    unknown = f"it is not known at which oversize box {reading.box!r} was printed"
    return InputError(unknown, field="box", value=reading.box, remedy="Book it with its job, or with k.")


def waiting() -> list[ProposalDocument]:
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
    proposal = learned.proposal(ledger(), number)
    if any(axis.verdict != "keep" for axis in proposal.axes):
        approvals.weighed(proposal.factors)
    entry = learned.approve(ledger(), number, person, reason)
    k: Factors = proposal.factors
    sizes = "  ".join(f"{axis} {value:.5f}" for axis, value in zip("xyz", k.k, strict=True))
    where = f", and the map of {proposal.box}" if proposal.box else ""
    where += f"; {view.to_print(proposal.bleed)}" if proposal.bleed else ""
    if all(axis.verdict == "keep" for axis in proposal.axes):
        return f"entry {entry}: factors in {proposal.material} stay; scatter{where} renewed"
    whose = f"{proposal.material}, lot {proposal.lot}," if proposal.lot else proposal.material
    return f"entry {entry}: from now on jobs in {whose} use {sizes}{where}"


def bed(material: str, box: str, into: Path | None) -> tuple[BedDocument, list[str]]:
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
    even = measure.bed_map.uniformity(approved, room)
    document = BedDocument(
        material=material,
        box=box,
        mean=even.mean,
        spread=even.spread,
        most=even.most,
        slopes=even.slopes,
        u=even.u,
        places_mm=approved.places_mm,
        density=approved.density,
    )
    lines = view.bed_lines(approved, even)
    if into is not None:
        at = view.grid(room, float(approved.places_mm[:, 2].mean()))
        into.write_text(
            view.bed_picture(approved, room, measure.bed_map.over(approved, at).mean, at), "utf-8"
        )
        lines.append(f"picture: {into}")
    return document, lines
