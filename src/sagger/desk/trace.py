"""Genealogy for a person, and for other programs: lines, a document, rows of a table."""

from __future__ import annotations

import csv
import io
from typing import Any

from sagger.desk.home import ledger
from sagger.goods.good import good
from sagger.ledger import trace
from sagger.views import trace as view


@good
class Traced:
    document: dict[str, Any]
    lines: list[str]
    table: str  # CSV


def piece(box: str, label: str) -> Traced:
    """From a piece back to lot, card, factor, furnace place, reading, edition and person."""
    found = trace.back(ledger(), box, label)
    return Traced(
        document={"schema": "sagger-trace-piece/1", **found},
        lines=view.back_lines(found),
        table=_csv(view.BACK, view.back_rows(found)),
    )


def lot(name: str) -> Traced:
    """From a lot forward to every piece that holds some of it."""
    found = trace.forward(ledger(), name)
    return Traced(
        document={"schema": "sagger-trace-lot/1", **found},
        lines=view.forward_lines(found),
        table=_csv(view.PIECES, found["pieces"]),
    )


def box(name: str) -> Traced:
    """The pieces of a box."""
    found = trace.contents(ledger(), name)
    return Traced(
        document={"schema": "sagger-trace-box/1", "box": name, "pieces": found},
        lines=[view.piece_line(each) for each in found],
        table=_csv(view.PIECES, found),
    )


def _csv(names: tuple[str, ...], rows: list[dict[str, Any]]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, names, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
