"""What the drawing of a booked piece asks for, by the plan that it was printed from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache

from sagger.errors import LedgerError
from sagger.goods import balloon
from sagger.goods.asked_line import AskedLine, asked_lines
from sagger.goods.planned import WholePlan
from sagger.goods.reading import Reading
from sagger.ledger import Ledger, boxes, jobs, plans

NOTHING: tuple[AskedLine, ...] = ()


def paired(book: Ledger, measured: Sequence[Reading]) -> list[tuple[Reading, AskedLine | None]]:
    """Readings of lines of drawings, each with its line; None where its drawing has none of that number."""
    of, pairs = lines_of(book), []
    for reading in measured:
        number = balloon.of(reading.feature)
        lines = {line.number: line for line in of(reading.box, reading.piece)}
        pairs.append((reading, lines.get(number.line) if number else None))
    return pairs


def lines_of(book: Ledger) -> Callable[[str, str], tuple[AskedLine, ...]]:
    """Lines of a piece by its box and label; none where the box is booked from no plan that can be read."""

    @cache
    def booked() -> tuple[dict[str, int], dict[tuple[str, str], str]]:
        with book.reading() as connection:
            pieces = boxes.known(connection).pieces
        return boxes.jobs_of(book), {key: piece.part for key, piece in pieces.items()}

    @cache
    def of_job(job: int) -> dict[str, tuple[AskedLine, ...]]:
        key = jobs.one(book, job).plan_digest
        try:
            plan = plans.plan(book, key) if key else None
        except LedgerError:  # of an edition that said less: it holds no drawing either
            return {}
        return (
            {part.name: asked_lines(plan, part) for part in plan.parts} if isinstance(plan, WholePlan) else {}
        )

    def of(box: str, piece: str) -> tuple[AskedLine, ...]:
        job_of, part_of = booked()
        return of_job(job_of[box]).get(part_of.get((box, piece), ""), NOTHING) if box in job_of else NOTHING

    return of
