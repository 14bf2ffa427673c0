"""Figures of one card that must agree with each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sagger.errors import CardError
from sagger.goods.binder import Binder
from sagger.goods.figure import Figure
from sagger.goods.head import Head
from sagger.goods.powder import Powder

POWDERS = ("metal", "ceramic", "sand")
SLACK = 1e-9  # of a sum of shares, for rounding


def agree(card: Any, file: str) -> None:
    """Nothing, if the card's figures fit each other; else `CardError` for the first pair that does not."""
    checks = {Powder: _powder, Binder: _binder, Head: _head}.get(type(card))
    for holds, what, field, value, remedy in checks(card) if checks else ():
        if not holds:
            raise CardError(what, file=file, field=field, value=value, remedy=remedy)


Check = tuple[bool, str, str, object, str]


def _powder(card: Powder) -> Iterator[Check]:
    yield (
        card.kind in POWDERS,
        "no powder is of this kind",
        "kind",
        card.kind,
        f"One of: {', '.join(POWDERS)}.",
    )
    yield _rising(card.d10, card.d50, card.d90), "d10, d50 and d90 must rise", "d50", card.d50.printed, ""
    yield _open_share(card.packing), "packing lies between 0 and 1", "packing", card.packing.printed, ""
    fired = card.kind != "sand"
    what = "a powder that is not sand needs [sintering]" if fired else "sand is not sintered"
    yield (card.sintering is not None) == fired, what, "sintering", "", "Mend `kind` or the table."
    if card.sintering is not None:
        green, final, end = (
            card.sintering.green_density,
            card.sintering.sintered_density,
            card.sintering.end_density,
        )
        what = "green, sintered and end density must rise, below 1"
        rising = _rising(green, final, end) and _open_share(end)
        yield (
            rising,
            what,
            "sintering.sintered_density",
            final.printed,
            "Relative densities, binder excluded.",
        )
        stages = [stretch.stage for stretch in card.sintering.programme]
        known = set(stages) <= {"debinding", "sintering"}
        yield known and bool(stages), "a stage is debinding or sintering", "sintering.programme", stages, ""


def _binder(card: Binder) -> Iterator[Check]:
    total = card.solids.value + card.water.value + card.solvent.value
    what = "solids, water and solvent are more than the whole"
    yield total <= 1 + SLACK, what, "solids", f"{total:.3f}", "Shares by mass; together at most 1."
    strange = [kind for kind in card.fits if kind not in POWDERS]
    yield not strange, "no powder is of this kind", "fits", strange, f"One of: {', '.join(POWDERS)}."


def _head(card: Head) -> Iterator[Check]:
    rising = _rising(card.drop_least, card.drop, card.drop_most)
    yield rising, "drop must lie between drop_least and drop_most", "drop", card.drop.printed, ""
    words = ("black is drop", "white is drop")
    yield (
        card.polarity in words,
        "no such polarity",
        "polarity",
        card.polarity,
        f"One of: {', '.join(words)}.",
    )
    yield card.bits >= 1, "a pixel has at least one bit", "bits", card.bits, ""


def _rising(*figures: Figure) -> bool:
    return all(low.value <= high.value for low, high in zip(figures, figures[1:], strict=False))


def _open_share(figure: Figure) -> bool:
    return 0 < figure.value < 1
