"""The tables of plan.json as a whole: a job that was planned, and one that intake stopped."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, Literal, NamedTuple

from sagger.goods.bed import Bed
from sagger.goods.caution import Caution
from sagger.goods.factors import Carried, Factors
from sagger.goods.figure import WEAK
from sagger.goods.finding import Finding
from sagger.goods.job import Job
from sagger.goods.mould import Mould
from sagger.goods.order import Order
from sagger.goods.part import Part
from sagger.goods.promised import Promised
from sagger.goods.quote import Quote
from sagger.goods.sintered import Sintered
from sagger.views.plan.boxes import BOX, ROOMS, PlannedBox
from sagger.views.plan.fields import rows, table_of
from sagger.views.plan.parts import PART, PIECE, PLACED_FINDING, PlacedFinding, PlannedPart, PlannedPiece
from sagger.views.plan.rows import listed, pairs, row, table
from sagger.views.wording import NOTICE

SCHEMA: Final = "sagger-plan/1"
KINDS = ("powder", "binder", "head", "box", "oven", "furnace", "shop")
WeakFigure = tuple[str, str, str, str, str]  # card, figure, printed, standing, source


class PlannedJob(NamedTuple):
    """A job as the line leaves it, and what the cards say of it."""

    job: Job
    cautions: Sequence[Caution]
    weak: Sequence[WeakFigure]
    sources: Mapping[str, str]
    edition: str

    @property
    def boxes(self) -> list[PlannedBox]:
        return [PlannedBox(build, self.job.cell.head) for build in self.job.builds]


class RefusedJob(NamedTuple):
    """A job that intake stopped."""

    order: Order
    parts: tuple[Part, ...]
    edition: str


def _cards(planned: PlannedJob) -> list[tuple[str, str, str]]:
    cards = ((kind, getattr(planned.job.cell, kind)) for kind in KINDS)
    return [(kind, card.name, card.title) for kind, card in cards if card is not None]


def _parts(planned: PlannedJob) -> list[PlannedPart]:
    greens = planned.job.builds[0].layout.greens
    return [PlannedPart(part, index, greens[index]) for index, part in enumerate(planned.job.parts)]


def _pieces(planned: PlannedJob) -> list[PlannedPiece]:
    job = planned.job
    return [
        PlannedPiece(piece, job.parts[piece.part].request.name, build.layout.number)
        for build in job.builds
        for piece in build.layout.pieces
    ]


def _findings(planned: PlannedJob) -> Iterator[PlacedFinding]:
    """What every step noticed, in the order of the line."""
    job = planned.job
    yield from _intake(job.parts)
    for index, green in enumerate(job.builds[0].layout.greens):
        yield from _placed(green.sag.findings if green.sag else (), "sinter", part=index)
    yield from _placed(job.bed.findings, "bed")
    yield from _placed(job.carried.findings if job.carried else (), "shrink")
    for build in job.builds:
        rooms = {
            "nest": build.layout.findings,
            "layers": build.noticed,
            "dosing": build.dose.findings,
            "cycle": build.timetable.findings,
            "cure": build.cured.findings,
            "depowder": build.depowdering.findings,
        }
        for station, findings in rooms.items():
            yield from _placed(findings, station, box=build.layout.number)
    yield from _placed(job.sintered.findings if job.sintered else (), "sinter")
    yield from _placed(job.mould.findings if job.mould else (), "mould")
    yield from _placed(job.promised.findings, "promise")
    yield from _placed(job.quote.findings, "cost")


def _intake(parts: tuple[Part, ...]) -> Iterator[PlacedFinding]:
    for index, part in enumerate(parts):
        yield from _placed(part.findings, "intake", part=index)


def _placed(
    findings: tuple[Finding, ...], station: str, *, box: int | None = None, part: int | None = None
) -> Iterator[PlacedFinding]:
    for finding in findings:
        yield PlacedFinding(finding, station, box, finding.part if part is None else part)


def _ranked(found: Iterable[PlacedFinding]) -> list[PlacedFinding]:
    """Heaviest first; of one weight in the order of the line."""
    return sorted(found, key=lambda placed: -placed.finding.weight)


def _of_first_box(read: Callable[[Any], object]) -> Callable[[Any], object]:
    return lambda planned: read(planned.boxes[0])


_CARD = pairs(
    "Card",
    "A card the job used.",
    row("kind", str, ", ".join(KINDS)),
    row("name", str, "of the card"),
    row("title", str, "what it is"),
)
_WEAK = pairs(
    "WeakFigure",
    "A figure that rests on memory or assumption.",
    row("card", str, "kind of card"),
    row("figure", str, "its field"),
    row("printed", str, "as written on the card"),
    row("standing", Literal[WEAK], "what it rests on"),
    row("source", str, "key of its source"),
)
_BED = table(
    "Bed",
    table_of(Bed).meaning,
    *rows(Bed, "bed"),
    row(
        "origin",
        str,
        "received, sieved, blended or recovered; empty without a lot",
        lambda job: job.cell.lot.origin if job.cell.lot else "",
    ),
    row("solid_density_g_per_cm3", float, "of the grains", "bed.powder.solid_density.value", "kg/m3"),
    *(
        row(
            f"d{share}_um",
            float,
            f"{share} % of the powder's mass is finer",
            f"bed.powder.d{share}.value",
            "m",
        )
        for share in (10, 50, 90)
    ),
)
_SCHEMA = row("schema", Literal[SCHEMA], "name and version of this format", lambda _: SCHEMA)
_NOTICE = row("notice", str, "what this is no substitute for", lambda _: NOTICE)
_EDITION = row("edition", str, "of the program that made it")
PLAN = table(
    "Plan",
    "A whole job. `layers` to `depowder` repeat the first box; `boxes` has every box.",
    _SCHEMA,
    row("state", Literal["planned"], "of the job", lambda _: "planned"),
    _NOTICE,
    _EDITION,
    row("order", table_of(Order), "what was asked for", "job.order"),
    row("cards", listed(_CARD), "of the cell", _cards),
    row("parts", listed(PART), "of the order", _parts),
    row("bed", _BED, "of spread powder", "job"),
    row("factors", table_of(Factors), "oversize, as used", "job.factors"),
    row(
        "carried",
        table_of(Carried),
        "approved factors under this job's conditions; null where factors come from the card",
        "job.carried",
        optional=True,
    ),
    row("pieces", listed(PIECE), "of all boxes", _pieces),
    *(room._replace(meaning="of the first box", read=_of_first_box(room.read)) for room in ROOMS),
    row("boxes", listed(BOX), "all of them"),
    row(
        "sinter",
        table_of(Sintered),
        "null for sand, which stops after the oven",
        "job.sintered",
        optional=True,
    ),
    row("mould", table_of(Mould), "null unless the powder is sand", "job.mould", optional=True),
    row("promise", table_of(Promised), "chances by one set of draws", "job.promised"),
    row("quote", table_of(Quote), "price, date and promise", "job.quote"),
    row("cautions", listed(table_of(Caution)), "that material and route call for"),
    row(
        "findings",
        listed(PLACED_FINDING),
        "of all steps, heaviest first",
        lambda planned: _ranked(_findings(planned)),
    ),
    row("weak_figures", listed(_WEAK), "of the cards used", "weak"),
    row(
        "sources",
        dict[str, str],
        "key to full reference, of the cards used",
        lambda planned: sorted(planned.sources.items()),
    ),
)
REFUSED = table(
    "Refused",
    "A job that intake stopped: only what was found.",
    _SCHEMA,
    row("state", Literal["refused"], "of the job", lambda _: "refused"),
    _NOTICE,
    _EDITION,
    row("order", table_of(Order), "what was asked for"),
    row(
        "parts",
        listed(PART),
        "of the order",
        lambda stopped: [PlannedPart(part, index) for index, part in enumerate(stopped.parts)],
    ),
    row(
        "findings",
        listed(PLACED_FINDING),
        "of intake, heaviest first",
        lambda stopped: _ranked(_intake(stopped.parts)),
    ),
)
