"""A certificate of what was measured on the pieces of a job."""

from __future__ import annotations

import datetime
from pathlib import Path

from sagger import cards
from sagger.desk.home import ledger, write_whole
from sagger.desk.measuring import drawings
from sagger.errors import InputError
from sagger.goods.asked_line import asked_lines
from sagger.goods.judged import Compared
from sagger.goods.order import Tolerance
from sagger.goods.planned import WholePlan
from sagger.goods.planned_part import PlanPart
from sagger.goods.reading import Reading
from sagger.ledger import Ledger, boxes, jobs, plans, readings
from sagger.stations import measure
from sagger.views.paper import outgoing
from sagger.views.words import certificate as words
from sagger.views.words.certificate import Measured
from sagger.views.words.letter import Letter, document


def certificate(job: int) -> Letter:
    """What was measured on the pieces that were printed by the plan of a job, against what the order asked.

    Raises
    ------
    InputError
        If the job came to no plan, no box was booked with it, or nothing was measured.
    """
    return words.letter(_measured(ledger(), job))


def sheet(job: int) -> tuple[str, bytes]:
    """The same as a page and as PDF."""
    return outgoing.sheet(certificate(job))


def can(job: int) -> bool:
    """Whether a box that was printed by the plan of a job was measured."""
    book = ledger()
    return any(readings.listed(book, box=name) for name in boxes.of_job(book, job))


def written(job: int, into: Path) -> tuple[dict[str, object], list[str]]:
    """The certificate, left in the folder `into` as a page and as PDF."""
    made = certificate(job)
    page, pdf = outgoing.sheet(made)
    write_whole(into / "certificate.html", page.encode())
    write_whole(into / "certificate.pdf", pdf)
    sizes, drawn = (
        next((section.rows for section in made.sections if section.heading == heading), ())
        for heading in ("Sizes", words.DIMENSIONS)
    )
    dimensions = f", {len(drawn)} dimensions of the drawing" if drawn else ""
    return document(made), [
        f"{made.title} {made.number}: {len(sizes)} sizes{dimensions} of job {job}",
        f"results: {into / 'certificate.pdf'}",
    ]


def _measured(book: Ledger, job: int) -> Measured:
    row = jobs.one(book, job)
    plan = plans.plan(book, row.plan_digest) if row.plan_digest else None
    if not isinstance(plan, WholePlan):
        raise InputError("this job came to no plan", field="job", value=job, remedy="Plan the order first.")
    names = boxes.of_job(book, job)
    state = "sintered" if plan.sinter else "green"
    mine = tuple(row for name in names for row in readings.listed(book, state=state, box=name))
    if not mine:
        what = "nothing was measured on pieces of this job"
        remedy = "Book its boxes (`sagger book box`), then load readings (`sagger readings load`)."
        raise InputError(what, field="job", value=job, remedy=remedy)
    compared, left = _compared(plan, mine)
    drawn = tuple(row for row in mine if row.kind == "dimension" and not row.coupon)
    used = {reading.instrument for reading in mine}
    return Measured(
        job=job,
        plan=plan,
        digest=str(row.plan_digest),
        made=datetime.date.today().isoformat(),
        pieces=boxes.printed(book, names),
        readings=mine,
        compared=compared,
        drawn=measure.judge_lines(drawings.paired(book, drawn)),
        asked=tuple(
            (part.name, str(line.number), tuple(map(str, line.numbers)))
            for part in plan.parts
            for line in asked_lines(plan, part)
        ),
        left_out=left,
        instruments=tuple(
            known for name, known in sorted(readings.instruments(book).items()) if name in used
        ),
    )


def _compared(plan: WholePlan, mine: tuple[Reading, ...]) -> tuple[tuple[Compared, ...], tuple[str, ...]]:
    """Lengths of each part against the tolerance that the order asked of it."""
    compared: list[Compared] = []
    left: list[str] = []
    printed = None if plan.sinter else plan.factors.k
    for part in plan.parts:
        asked = _tolerance(part)
        own = tuple(row for row in mine if row.part == part.name and not row.coupon)
        if asked is not None:
            inside, out = measure.compare(own, asked, printed)
            compared += inside
            left += out
    return tuple(compared), tuple(left)


def _tolerance(part: PlanPart) -> Tolerance | None:
    asked = part.tolerance
    if asked is None:
        return None
    if asked.kind == "iso2768":
        return Tolerance(kind=asked.kind, grade=asked.grade or "", steps=cards.iso2768(asked.grade or ""))
    return Tolerance(kind=asked.kind, value=asked.plus_minus_mm or asked.plus_minus_percent or 0.0)
