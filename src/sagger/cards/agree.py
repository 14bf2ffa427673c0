"""Figures of one card that must agree with each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from sagger.cards.place import CardSpot, refusal
from sagger.cards.stands_agree import stand_checks
from sagger.goods.binder import Binder
from sagger.goods.figure import Figure
from sagger.goods.furnace import Furnace
from sagger.goods.head import Head
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder, Sintering
from sagger.goods.stand import Stand

POWDERS = ("metal", "ceramic", "sand")
POLARITIES = ("black is drop", "white is drop")
FIRST_ROWS = ("y low", "y high")
BITS = (1, 2, 4)
STAGES = ("debinding", "sintering")
ROOM = 293.15  # around a furnace [K]; assumed
SLACK = 1e-9  # of a sum of shares, for rounding

Check = tuple[bool, str, str, object, str]  # holds, what is wrong if not, field, value, remedy


def agree(card: object, place: CardSpot) -> None:
    """Nothing if the card's figures fit each other; else `CardError` for the first that does not."""
    for holds, what, field, value, remedy in _checks(card):
        if not holds:
            raise refusal(place.below(field), what, value, remedy)


def _checks(card: object) -> Iterator[Check]:
    if isinstance(card, Powder):
        yield from _powder(card)
    elif isinstance(card, Binder):
        yield from _binder(card)
    elif isinstance(card, Head):
        yield from _head(card)
    elif isinstance(card, Oven):
        yield from _oven(card)
    elif isinstance(card, Furnace):
        yield from _furnace(card)
    elif isinstance(card, Stand):
        yield from stand_checks(card)


def _powder(card: Powder) -> Iterator[Check]:
    yield _known(card.kind, POWDERS, "no powder is of this kind", "kind")
    yield _rising(card.d10, card.d50, card.d90), "d10, d50 and d90 must rise", "d50", card.d50.printed, ""
    yield 0 < card.packing.value < 1, "it must lie between 0 and 1", "packing", card.packing.printed, ""
    fired = card.kind != "sand"
    what = "a powder that is not sand needs this table" if fired else "sand is not sintered"
    yield (card.sintering is not None) == fired, what, "sintering", "", "Mend it, or the field `kind`."
    if card.sintering is not None:
        yield from _sintering(card.sintering)


def _sintering(law: Sintering) -> Iterator[Check]:
    rising = _rising(law.green_density, law.sintered_density, law.end_density) and law.end_density.value < 1
    wrong = "green, sintered and end density must rise and stay below 1"
    yield rising, wrong, "sintering.sintered_density", law.sintered_density.printed, "Binder is left out."
    yield (
        bool(law.programme),
        "the programme is empty",
        "sintering.programme",
        "",
        "Add [[sintering.programme]].",
    )
    if law.closed_pores is not None:
        closure = law.closed_pores.closure
        between = law.green_density.value < closure.value < 1
        wrong = "pores close between the green density and 1"
        yield between, wrong, "sintering.closed_pores.closure", closure.printed, ""
    for stretch in law.programme:
        yield _known(stretch.stage, STAGES, "a programme has no such stage", "sintering.programme")


def _binder(card: Binder) -> Iterator[Check]:
    for kind in card.fits:
        yield _known(kind, POWDERS, "no powder is of this kind", "fits")
    total = card.solids.value + card.water.value + card.solvent.value
    wrong = "solids, water and solvent are more than the whole"
    yield total <= 1 + SLACK, wrong, "solids", f"{total:.3f}", "Shares by mass, together at most 1."
    usual, most = card.oven_temperature, card.oven_temperature_most
    wrong = "it must not lie below oven_temperature"
    yield most is None or _rising(usual, most), wrong, "oven_temperature_most", most and most.printed, ""


def _oven(card: Oven) -> Iterator[Check]:
    room, opened = card.ambient, card.open_temperature
    cools = opened is None or room.value < opened.value
    what, remedy = "the box never cools to this in the room of `ambient`", "Give a higher one."
    yield cools, what, "open_temperature", opened and opened.printed, remedy


def _furnace(card: Furnace) -> Iterator[Check]:
    slow, opened = card.cool_time, card.open_temperature
    both = (slow is None) == (opened is None)
    yield (
        both,
        "cool_time and open_temperature go together",
        "cool_time",
        slow and slow.printed,
        "Give both, or neither.",
    )
    warm = opened is None or opened.value > ROOM
    what = f"a furnace never cools to this in a room of {ROOM - 273.15:.0f} °C"
    yield warm, what, "open_temperature", opened and opened.printed, "Give a higher one."
    if slow is not None:
        yield slow.value > 0, "a furnace takes time to cool", "cool_time", slow.printed, ""


def _head(card: Head) -> Iterator[Check]:
    rising = _rising(card.drop_least, card.drop, card.drop_most)
    yield rising, "it must lie between drop_least and drop_most", "drop", card.drop.printed, ""
    yield _known(card.polarity, POLARITIES, "there is no such polarity", "polarity")
    yield _known(card.first_row, FIRST_ROWS, "a layer's file cannot begin there", "first_row")
    yield card.bits in BITS, "a drop has 1, 2 or 4 bits", "bits", card.bits, ""
    nozzles = round(card.nozzles.value)
    strange = [nozzle for nozzle in card.dead_nozzles if not 0 <= nozzle < nozzles]
    remedy = f"Nozzles are counted from 0 to {nozzles - 1}, from low y up."
    yield not strange, "the head has no such nozzle", "dead_nozzles", strange, remedy
    yield from _levels(card)


def _levels(card: Head) -> Iterator[Check]:
    sizes = 2**card.bits - 1 if card.bits > 1 else 0
    what = f"with {card.bits} bits a drop has {sizes} sizes" if sizes else "with one bit a drop has one size"
    remedy = f"Write {sizes} times [[levels]], smallest first." if sizes else "Leave levels out."
    yield len(card.levels) == sizes, what, "levels", len(card.levels), remedy
    if card.levels:
        printed = ", ".join(level.printed for level in card.levels)
        yield _rising(*card.levels), "the levels must rise", "levels", printed, "Smallest first."
        last = abs(card.levels[-1].value / card.drop.value - 1) < SLACK
        yield last, "the last level must be the nominal drop", "levels", printed, "Mend it, or `drop`."


def _known(word: str, known: tuple[str, ...], what: str, field: str) -> Check:
    return word in known, what, field, word, f"One of: {', '.join(known)}."


def _rising(*figures: Figure) -> bool:
    return all(low.value <= high.value for low, high in pairwise(figures))
