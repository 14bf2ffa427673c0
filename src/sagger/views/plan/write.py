"""A job turned into plan.json."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import TypeAdapter

from sagger.goods.caution import Caution
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.job import Job
from sagger.goods.order import Order
from sagger.goods.part import Part
from sagger.views.plan.asked import PieceOut, PlacedFinding
from sagger.views.plan.fill_asked import bed_out, factors_out, finding_out, order_out, part_out
from sagger.views.plan.fill_box import box_out
from sagger.views.plan.fill_outcome import quote_out, sinter_out
from sagger.views.plan.mould import mould_out
from sagger.views.plan.whole import SCHEMA, CardOut, CautionOut, Document, Plan, Refused, WeakOut
from sagger.views.wording import NOTICE

ROOMS = ("layers", "drops", "binder", "powder", "times", "drying", "cure", "depowder")  # of the first box
Weak = tuple[str, str, str, str, str]  # card, figure, printed, standing, source


def document(
    job: Job,
    cautions: Sequence[Caution],
    weak: Sequence[Weak],
    sources: Mapping[str, str],
    edition: str,
) -> dict[str, Any]:
    """plan.json of a whole job.

    Parameters
    ----------
    job : Job
        As the line leaves it.
    cautions : sequence of Caution
        The ones that material and route call for.
    weak : sequence of 5 texts each
        Figures that rest on memory or assumption: card, figure, as printed, standing, source.
    sources : mapping
        Source key to full reference, of the cards used.
    edition : str
        Of the program.

    Returns
    -------
    dict
        Plain texts, numbers, lists and mappings, as `schema` describes.
    """
    greens = job.builds[0].layout.greens
    boxes = [box_out(build, job.cell.head.first_row) for build in job.builds]
    plan = Plan(
        schema=SCHEMA,
        state="planned",
        notice=NOTICE,
        edition=edition,
        order=order_out(job.order),
        cards=_cards(job.cell),
        parts=[part_out(part, index, greens[index]) for index, part in enumerate(job.parts)],
        bed=bed_out(job.bed, job.cell.lot),
        factors=factors_out(job.factors),
        pieces=_pieces(job),
        **{room: getattr(boxes[0], room) for room in ROOMS},
        boxes=boxes,
        sinter=sinter_out(job.sintered) if job.sintered else None,
        mould=mould_out(job.mould) if job.mould else None,
        quote=quote_out(job.quote),
        cautions=[_caution(each) for each in cautions],
        findings=list(_findings(job)),
        weak_figures=[
            WeakOut(card=card, figure=figure, printed=printed, standing=standing, source=source)  # type: ignore[arg-type]
            for card, figure, printed, standing, source in weak
        ],
        sources={key: sources[key] for key in sorted(sources)},
    )
    return plan.model_dump(mode="json", by_alias=True)


def refused(order: Order, parts: tuple[Part, ...], edition: str) -> dict[str, Any]:
    """plan.json of a job that intake stopped: parts and findings only."""
    stopped = Refused(
        schema=SCHEMA,
        state="refused",
        notice=NOTICE,
        edition=edition,
        order=order_out(order),
        parts=[part_out(part, index) for index, part in enumerate(parts)],
        findings=list(_part_findings(parts)),
    )
    return stopped.model_dump(mode="json", by_alias=True)


def part(part: Part, index: int = 0) -> dict[str, Any]:
    """One part as plan.json shows it, before compensation."""
    return part_out(part, index).model_dump(mode="json", by_alias=True)


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of plan.json."""
    made = TypeAdapter(Document).json_schema(by_alias=True, mode="serialization")
    title = "plan.json, what Sagger leaves of a job"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title} | made


def _cards(cell: Cell) -> list[CardOut]:
    kinds = ("powder", "binder", "head", "box", "oven", "furnace", "shop")
    cards = ((kind, getattr(cell, kind)) for kind in kinds)
    return [CardOut(kind=kind, name=card.name, title=card.title) for kind, card in cards if card is not None]


def _pieces(job: Job) -> list[PieceOut]:
    return [
        PieceOut(
            part=piece.part,
            name=job.parts[piece.part].request.name,
            number=piece.number,
            box=build.layout.number,
            turn=piece.turn,
            placement=piece.placement.tolist(),
        )
        for build in job.builds
        for piece in build.layout.pieces
    ]


def _caution(each: Caution) -> CautionOut:
    return CautionOut(
        key=each.key,
        step=each.step,
        text=each.text,
        defer_to=each.defer_to,
        source=each.source,
        standing=each.standing,
    )


def _findings(job: Job) -> Iterator[PlacedFinding]:
    """What every step noticed, in the order of the line."""
    yield from _part_findings(job.parts)
    for index, green in enumerate(job.builds[0].layout.greens):
        found = green.sag.findings if green.sag else ()
        yield from (_placed(each, "sinter", part=index) for each in found)
    yield from (_placed(each, "bed") for each in job.bed.findings)
    for build in job.builds:
        yield from (_placed(each, "nest", box=build.layout.number) for each in build.layout.findings)
        yield from (_placed(each, "layers", box=build.layout.number) for each in build.noticed)
        rooms = (
            ("dosing", build.dose),
            ("cycle", build.timetable),
            ("cure", build.cured),
            ("depowder", build.depowdering),
        )
        for station, room in rooms:
            yield from (_placed(each, station, box=build.layout.number) for each in room.findings)
    if job.sintered:
        yield from (_placed(each, "sinter") for each in job.sintered.findings)
    if job.mould:
        yield from (_placed(each, "mould") for each in job.mould.findings)
    yield from (_placed(each, "cost") for each in job.quote.findings)


def _part_findings(parts: tuple[Part, ...]) -> Iterator[PlacedFinding]:
    for index, each in enumerate(parts):
        yield from (_placed(found, "intake", part=index) for found in each.findings)


def _placed(
    finding: Finding, station: str, *, box: int | None = None, part: int | None = None
) -> PlacedFinding:
    return PlacedFinding(**finding_out(finding).model_dump(), station=station, box=box, part=part)
