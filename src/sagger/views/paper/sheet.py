"""What stands on the traveller of one box, in words; both its forms are laid out from this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from sagger.goods.caution import Caution
from sagger.goods.finding import Finding
from sagger.goods.job import Build, Job
from sagger.goods.promised import PiecePromise, Promise
from sagger.units import into
from sagger.views.paper.inspection import InspectionTable
from sagger.views.pictures.palette import letter, web
from sagger.views.plan import green_extent
from sagger.views.wording import (
    NOTICE,
    count,
    digits_of,
    drop_size,
    duration,
    mass,
    misfits,
    moment,
    part_name,
    share,
    shown,
    sizes,
    tolerance,
    volume,
)
from sagger.views.words import odds
from sagger.views.words.leaving import leaving
from sagger.views.words.steps import TravellerStep, steps


class SheetRoom(NamedTuple):
    """How much a sheet shows, so that all stays on two pages; plan.json has the rest."""

    parts: int
    looks: int
    crowded: bool  # smaller letters; pictures wherever there is place
    rows: bool  # charts in one row, pictures in another; else all in one, and small


ROOMS = (
    SheetRoom(5, 8, False, True),
    SheetRoom(14, 8, True, True),
    SheetRoom(14, 8, True, False),
    SheetRoom(12, 4, True, False),
    SheetRoom(8, 2, True, False),
)
LOST = 3  # weight of a finding by which pieces are lost
PLACES_NAMED = 3  # that share one finding; of the rest only how many
MONEY = " cur"  # how a card writes a price or a rate: none of the shop floor's business
HEADING = "planning aid"  # this caution stands at the head of the sheet
Weak = tuple[str, str, str, str, str]


class PartRow(NamedTuple):
    """One part that has pieces in the box."""

    letter: str
    colour: str
    name: str
    due: str
    pieces: str
    finished: str
    sag: str
    greens: list[str]  # sizes as printed, one for each turn
    asked: str
    limits: str
    chance: str


class SheetContent(NamedTuple):
    """Texts of one sheet; both templates call them by these names."""

    job: str
    shop: str
    box: str
    box_title: str
    notice: str
    digest: str
    facts: list[tuple[str, str]]
    parts: list[PartRow]
    parts_left: str
    steps: list[TravellerStep]
    looks: list[dict[str, str]]
    looks_left: str
    cautions: list[dict[str, str]]
    weak: list[dict[str, str]]
    factors: str
    captions: dict[str, str]
    crowded: bool
    rows: bool
    inspection: list[InspectionTable]  # on pages of their own, behind the others


def content(
    job: Job,
    box_index: int,
    cautions: Sequence[Caution],
    weak: Sequence[Weak],
    plan_digest: str,
    room: SheetRoom,
) -> SheetContent:
    """Texts of the sheet for box `box_index` (from 0)."""
    build = job.builds[box_index]
    looks = _looks(job, build)
    shown = max(room.looks, looks.fewest)
    rows = list(_parts(job, build))
    return SheetContent(
        job=job.order.name,
        shop=job.order.shop,
        box=f"box {build.layout.number} of {len(job.builds)}",
        box_title=job.cell.box.title,
        notice=NOTICE,
        digest=plan_digest,
        facts=_facts(job, build),
        parts=rows[: room.parts],
        parts_left=_left(len(rows) - room.parts, "part"),
        steps=steps(job, build, cautions),
        looks=looks.lines[:shown],
        looks_left=_left(len(looks.lines) - shown, "finding"),
        cautions=[_caution(each) for each in cautions if each.key != HEADING],
        weak=_weak(weak),
        factors=_factors(job),
        captions=_captions(build),
        crowded=room.crowded,
        rows=room.rows,
        inspection=[],
    )


def rooms(build: Build) -> tuple[SheetRoom, ...]:
    """The rooms to try for a box, widest first."""
    kinds = len({piece.part for piece in build.layout.pieces})
    return ROOMS if kinds <= ROOMS[0].parts else ROOMS[1:]


def shown_layer(build: Build) -> int:
    """Which layer (from 0) stands for the box: the one with most drops, the lowest of equals."""
    return int(np.argmax(build.tally.drops))


def _left(number: int, word: str) -> str:
    return f"and {count(number, 'more ' + word)} in plan.json" if number > 0 else ""


def _facts(job: Job, build: Build) -> list[tuple[str, str]]:
    layout, dose = build.layout, build.dose
    depth = into(layout.box.length_z.value, "mm")
    return [
        ("pieces", f"{len(layout.pieces)} in this box"),
        ("build height", f"{layout.height_mm:.1f} of {depth:.0f} mm, nesting {share(layout.density)}"),
        ("empty", leaving(layout)),
        ("fullest layer", f"{share(layout.printed_most)} of the bed printed"),
        ("layers", f"{digits_of(build.stack.count)} of {build.stack.layer_mm * 1e3:.0f} µm"),
        ("drops", f"{digits_of(dose.drops)} of {drop_size(dose)}"),
        ("binder", volume(dose.binder)),
        ("powder fed", mass(dose.powder_fed)),
        ("print", duration(build.timetable.build + build.timetable.setup)),
        ("cure", f"{duration(build.cured.hold)} at {shown(build.cured.oven_temperature, 'degC')}"),
        ("start", moment(job.order.start)),
        ("ready", moment(job.quote.ready)),
    ]


def _parts(job: Job, build: Build) -> Iterator[PartRow]:
    """A row for each part that has pieces in this box."""
    here = Counter(piece.part for piece in build.layout.pieces)
    for index in sorted(here):
        part, green = job.parts[index], build.layout.greens[index]
        turns = sorted({piece.turn for piece in build.layout.pieces if piece.part == index})
        promises = [each for each in job.quote.promises if each.part == index]
        greens = list(dict.fromkeys(sizes(green_extent(green, turn)) for turn in turns))
        yield PartRow(
            letter=letter(index),
            colour=web(index),
            name=part_name(part),
            due=part.request.due,
            pieces=f"{here[index]} of {part.request.started}",
            finished=sizes(part.extent_mm),
            sag=misfits(green.sag) if green.sag else "",
            greens=greens[:2] if len(greens) <= 2 else [*greens[:2], "… see plan.json"],
            asked=tolerance(part.request.tolerance),
            limits=_limits(promises),
            chance=_chance(promises, job.promised.pieces, index),
        )


def _limits(promises: list[Promise]) -> str:
    """Allowed deviation per axis, "± 0.20 / 0.20 / 0.10 mm"."""
    halves = [f"{(each.upper_mm - each.lower_mm) / 2:.2f}" for each in promises]
    if len(set(halves)) == 1:
        halves = halves[:1]
    return f"± {' / '.join(halves)} mm" if halves else ""


def _chance(promises: list[Promise], pieces: tuple[PiecePromise, ...], part: int) -> str:
    """Of a whole piece, and of the size that is met least."""
    whole = next((piece for piece in pieces if piece.part == part), None)
    if not promises or whole is None:
        return "–"
    least = min(promises, key=lambda size: size.chance)
    return f"{odds.percent(whole.chance)}, {least.dimension} {odds.percent(least.chance)}"


class Looks(NamedTuple):
    """Findings at which a person should look."""

    lines: list[dict[str, str]]  # heaviest first; of one weight, one of each kind before a second of any
    fewest: int  # so many first lines no sheet may leave out: every stop, and each way to lose pieces


def _looks(job: Job, build: Build) -> Looks:
    seen: dict[tuple[int, str, str], list[str]] = {}
    for where, finding in _noticed(job, build):
        text = f"{finding.text} {finding.remedy}".strip()
        seen.setdefault((finding.weight, finding.what, text), []).append(where)
    nth: Counter[tuple[int, str]] = Counter()
    ranked = []
    for (weight, kind, text), places in seen.items():
        line = {"where": _listed(places), "what": kind, "text": text}
        ranked.append((-weight, nth[weight, kind], line))
        nth[weight, kind] += 1
    ranked.sort(key=lambda row: row[:2])
    must = [row for row, (weight, again, _) in enumerate(ranked, 1) if -weight - bool(again) >= LOST]
    return Looks([line for _, _, line in ranked], max(must, default=0))


def _listed(places: list[str]) -> str:
    rest = len(places) - PLACES_NAMED
    return ", ".join(places[:PLACES_NAMED]) + (f" and {rest} more" if rest > 0 else "")


def _noticed(job: Job, build: Build) -> Iterator[tuple[str, Finding]]:
    """Where, and what: of parts in this box, of the box, of the furnace."""
    here = sorted({piece.part for piece in build.layout.pieces})
    named = {index: f"{letter(index)} {part_name(job.parts[index])}" for index in here}
    groups: list[tuple[str, tuple[Finding, ...]]] = [
        (named[index], job.parts[index].findings) for index in here
    ]
    groups += [
        (f"{letter(index)} in the furnace", green.sag.findings)
        for index in here
        if (green := build.layout.greens[index]).sag is not None
    ]
    groups += [
        (f"lot {job.bed.lot}", job.bed.findings),
        ("factors", job.carried.findings if job.carried else ()),
        ("nest", build.layout.findings),
        ("layers", build.noticed),
        ("dosing", build.dose.findings),
        ("layer time", build.timetable.findings),
        ("cure", build.cured.findings),
        ("depowder", build.depowdering.findings),
        ("mould", job.mould.findings if job.mould else ()),
        ("sinter", job.sintered.findings if job.sintered else ()),
    ]
    for where, findings in groups:
        for finding in findings:
            if finding.level != "ok" and (finding.part is None or finding.part in named):
                yield where, finding


def _caution(each: Caution) -> dict[str, str]:
    memory = "" if each.standing not in ("memory", "assumed") else f" [{each.standing}]"
    return {"key": each.key, "step": each.step, "text": each.text + memory, "defer_to": each.defer_to}


def _weak(weak: Sequence[Weak]) -> list[dict[str, str]]:
    """One entry per card, its figures in one line; m = memory, a = assumed. Rates stay in the office."""
    cards: dict[str, list[str]] = {}
    for card, figure, printed, standing, _ in weak:
        if MONEY in printed:
            continue
        name = figure.removeprefix("sintering.").replace(".", " ").replace("_", " ")
        value = printed.removesuffix(" -")
        cards.setdefault(card, []).append(f"{name} {value} ({standing[0]})")
    return [{"card": card, "figures": ", ".join(figures)} for card, figures in cards.items()]


def _factors(job: Job) -> str:
    pairs = zip("xyz", job.factors.k, job.factors.u, strict=True)
    words = ", ".join(f"{axis} {k:.4f} (u {u:.4f})" for axis, k, u in pairs)
    lot = f", lot {job.factors.lot}" if job.factors.lot else ""
    return f"Oversize factors, machine axes: {words}; from {job.factors.origin}{lot}."


def _captions(build: Build) -> dict[str, str]:
    layer = shown_layer(build)
    drops = digits_of(int(build.tally.drops[layer]))
    height = f"{build.layout.height_mm:.1f} mm"
    return {
        "corner": f"Walls drawn up to the build's height, {height}. Grid 50 mm. Letter: part; number: piece.",
        "above": "Seen from above.",
        "chart": "Furnace run as predicted. Solid: temperature; dashed: density; dotted: binder gone.",
        "cure": "Box in the oven as predicted. Solid: coldest piece; dashed: hottest; dash-dot: oven; "
        "dotted: cure of the last piece.",
        "layer": f"Layer {layer + 1} of {build.stack.count}: {drops} drops, the most of any layer.",
        "crop": f"The framed place of layer {layer + 1} at drop scale, one black square per drop.",
    }
