"""Readings of finished lengths, each with how its length comes about by the plan that it was printed from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.desk.measuring import book as booking
from sagger.errors import InputError, LedgerError
from sagger.goods import balloon
from sagger.goods.balloon import Balloon
from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.reading import Reading
from sagger.ledger import Ledger, printed
from sagger.ledger.printed import PrintedLengths
from sagger.stations.measure import length_levers as levers
from sagger.stations.measure.length_levers import LengthLever, Levered, Printed

NO_SIZE = "angles, form and place say nothing of factors"
WORST = "the worst of several features; read each by its own number"
NO_PLAN = "it is not known at which oversize its box was printed"


class LeveredReadings(NamedTuple):
    """Readings that factors can be learnt from, and what is said of those that were left out."""

    measured: list[Levered]
    notes: list[str]


class DrawnPiece(NamedTuple):
    """How a piece lay, and the features of its part's drawing."""

    turned: ndarray  # float64 (3, 3): part's axes to the machine's
    features: dict[Balloon, DrawnFeature]


Pieces = Callable[[str, str], DrawnPiece]  # by box and label


def levered(book: Ledger, chosen: Sequence[Reading]) -> LeveredReadings:
    """Finished lengths along machine axes and sizes of drawings, by box and piece."""
    known, pieces = printed.drawn(book), drawn_pieces(book)
    measured, left = list[Levered](), Counter[str]()
    for reading in chosen:
        if reading.state != "sintered" or reading.kind not in ("length", "dimension"):
            continue
        own = known.get((reading.box, reading.piece), known.get((reading.box, "")))
        lever = NO_PLAN if own is None else _lever(reading, own, pieces)
        if isinstance(lever, LengthLever):
            measured.append(Levered(reading, lever))
        elif lever:
            left[lever] += 1
    notes = [f"{number} of the readings were left out: {why}" for why, number in sorted(left.items())]
    return LeveredReadings(measured, notes)


def drawn_pieces(book: Ledger) -> Pieces:
    """Of a box and a label; `InputError` or `LedgerError` where it is not known how it was planned."""
    layout_of = cache(lambda box: booking.laid_out(book, box))

    def of(box: str, label: str) -> DrawnPiece:
        layout = layout_of(box)
        piece = booking.labelled(layout).get(label)
        if piece is None:
            raise InputError(f"box {box!r} holds no such piece", field="piece", value=label)
        linear = piece.placement[:3, :3]
        asked = layout.greens[piece.part].part.asked
        features = dict(zip(balloon.balloons(asked), asked, strict=True))
        return DrawnPiece(linear / np.linalg.norm(linear, axis=1, keepdims=True), features)

    return cache(of)


def _lever(
    reading: Reading, own: PrintedLengths, pieces: Callable[[str, str], DrawnPiece]
) -> LengthLever | str:
    """How the length of a reading comes about; "" where it is none, else why that is not known."""
    taken = (float(own.less_mm[0]) / 2, float(own.less_mm[2]))
    if reading.kind == "length":
        if reading.nominal is None or not reading.axis:
            return ""
        along = Printed(turned=np.eye(3), k=own.k, taken=taken)
        return levers.of_length("xyz".index(reading.axis), reading.nominal * 1e3, along)
    try:
        piece = pieces(reading.box, reading.piece)
    except (InputError, LedgerError) as error:
        return str(error)
    number = balloon.of(reading.feature)
    feature = piece.features.get(number) if number else None
    if feature is None or number is None:
        several = number is not None and any(other.line == number.line for other in piece.features)
        return WORST if several else "the drawing of its plan does not evaluate its line"
    return levers.of_feature(feature, Printed(piece.turned, own.k, taken)) or NO_SIZE
