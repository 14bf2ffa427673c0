"""What a person is told at the end of planning or checking, line by line."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np

from sagger.goods.cured import Cured
from sagger.goods.debinding import Debinding
from sagger.goods.figure import Figure
from sagger.goods.finding import Finding, heaviest_first
from sagger.goods.job import Build, Job
from sagger.goods.mould import Mould
from sagger.goods.part import Part
from sagger.goods.powder import Sintering
from sagger.goods.sintered import Sintered
from sagger.units import into
from sagger.views.pictures.palette import letter, spotted
from sagger.views.wording import (
    LEVEL_WORDS,
    count,
    digits,
    digits_of,
    drop_size,
    duration,
    mass,
    misfits,
    part_name,
    remark,
    share,
    shown,
    sizes,
    volume,
)
from sagger.views.words import drawn, firing, last_lines

PROMISED = 0.95  # chances below it are said
SAID = ("tolerance at risk", "number started")  # findings whose figures stand in lines of their own
BOXES_MOST = 4  # said one by one; the rest in one line


def lines(job: Job) -> list[str]:
    """The answers an engineer wants first: what, how high, how much, how long, how good, how dear, when."""
    pieces = sum(len(build.layout.pieces) for build in job.builds)
    text = [
        f"{job.order.name}: {count(pieces, 'piece')} of {count(len(job.parts), 'part')} in "
        f"{count(len(job.builds), 'box', 'boxes')}, {job.cell.powder.title}",
        *_bed(job),
        _factors(job),
        *_sag(job),
    ]
    for build in job.builds[:BOXES_MOST]:
        text += _box(job, build)
    if len(job.builds) > BOXES_MOST:
        rest = job.builds[BOXES_MOST:]
        layers = sum(build.stack.count for build in rest)
        text.append(
            f"{count(len(rest), 'more box', 'more boxes')}: {digits_of(layers)} layers, see plan.json"
        )
    if job.sintered:
        text += [_sinter(job.sintered) + _weak(job), *_quicker(job.sintered)]
    if job.mould:
        text.append(_mould(job.mould))
    text += [*_chances(job), *_remarks(job), *last_lines.told(job)]
    return text


def check_lines(parts: tuple[Part, ...]) -> list[str]:
    """Size, volume and findings of each part."""
    text: list[str] = []
    for index, part in enumerate(parts):
        volume = (
            f"{part.volume_mm3 / 1e3:.2f} cm³" if part.volume_mm3 >= 1e3 else f"{part.volume_mm3:.3g} mm³"
        )
        copies = f" × {part.request.quantity}" if part.request.body else ""
        size = f"{sizes(part.extent_mm)} mm, {volume}"
        text.append(
            f"{letter(index)} {part_name(part)}{copies}: {size}, thickest place {part.thickest_mm:.1f} mm, "
            f"{digits_of(len(part.shape.triangles))} triangles"
        )
        text += [f"  mended: {each}" for each in part.healed]
        noticed = [finding for finding in heaviest_first(part.findings) if finding.level != "ok"]
        text += [f"  {remark(each)}" for each in noticed]
        fine = len(part.findings) - len(noticed)
        text += [f"  {line}" for line in drawn.text(part.drawing)] if part.drawing else []
        text.append(f"  ok: {count(fine, 'check')} passed" if fine else "  no check passed")
    return text


def _bed(job: Job) -> Iterator[str]:
    """The lot, if there is one: what it is and what bed it makes."""
    bed, powder = job.bed, job.bed.powder
    if not bed.lot:
        return
    grains = " / ".join(f"{into(size.value, 'um'):.1f}" for size in (powder.d10, powder.d50, powder.d90))
    flow = f", flow {bed.flow} (Hausner {bed.hausner:.2f})" if bed.hausner else ""
    yield (
        f"lot {bed.lot}: d10/d50/d90 {grains} µm{flow}, "
        f"packing {share(bed.packing)} (u {share(bed.packing_u)}), "
        f"green density {share(bed.green)} (u {share(bed.green_u)})"
    )


def _sag(job: Job) -> Iterator[str]:
    """Of parts that finite elements looked at: how far off before and after they were bent."""
    for index, green in enumerate(job.builds[0].layout.greens):
        if green.sag is not None and green.sag.before is not None:
            yield f"{letter(index)} {part_name(green.part)}: in the furnace {misfits(green.sag)}"


def _factors(job: Job) -> str:
    pairs = zip("xyz", job.factors.k, job.factors.u, strict=True)
    words = ", ".join(f"{axis} {k:.4f} (u {u:.4f})" for axis, k, u in pairs)
    lot = f", lot {job.factors.lot}" if job.factors.lot else ""
    place = "; each piece by its own place in the bed" if job.order.choices.by_place else ""
    return f"oversize factors: {words}, from {job.factors.origin}{lot}{place}"


def _box(job: Job, build: Build) -> Iterator[str]:
    layout, dose, times, cured = build.layout, build.dose, build.timetable, build.cured
    gap = f", closest pieces {layout.least_gap_mm:.2f} mm apart" if np.isfinite(layout.least_gap_mm) else ""
    name = f"box {layout.number}"
    yield (
        f"{name}: {count(len(layout.pieces), 'piece')}, {digits_of(build.stack.count)} layers of "
        f"{shown(build.stack.layer_mm / 1e3, 'um')}, height {layout.height_mm:.1f} of "
        f"{into(job.cell.box.length_z.value, 'mm'):.0f} mm, nesting {share(layout.density)}{gap}"
    )
    yield (
        f"{name}: {digits_of(dose.drops)} drops of {drop_size(dose)}, "
        f"saturation {share(dose.saturation)} (u {share(dose.saturation_u)}), binder {volume(dose.binder)}, "
        f"powder fed {mass(dose.powder_fed)}, in pieces {mass(dose.powder_in_pieces)}, "
        f"back {mass(dose.powder_back)}"
    )
    yield (
        f"{name}: layer {duration(times.layer)}, build {duration(times.build)} "
        f"({share(times.longest_share, 0)} {times.longest}), "
        f"{digits(into(times.volume_rate, 'cm3/h'))} cm³/h, "
        f"cure {duration(cured.hold)} (u {duration(cured.hold_u)}) at "
        f"{shown(cured.oven_temperature, 'degC')}{_last(cured)}, plus {duration(cured.cool)} cooling"
    )


def _last(cured: Cured) -> str:
    return f", last piece {spotted(cured.last)}" if cured.last else ""


def _sinter(sintered: Sintered) -> str:
    load = sintered.load
    peak = f"{digits_of(round(into(float(sintered.temperature.max()), 'degC')))} °C"
    return (
        f"sinter: peak {peak}, relative density {share(sintered.final_density)} "
        f"({firing.sureness(sintered)}), {count(load.runs, 'run')} of {duration(sintered.run)}, "
        f"{count(load.trays, 'tray')}"
    )


def _weak(job: Job) -> str:
    """How much of the furnace law is from memory, in words."""
    card = job.cell.powder.sintering
    figures = [getattr(card, field.name) for field in dataclasses.fields(Sintering)] if card else []
    weak = sum(isinstance(each, Figure) and each.weak for each in figures)
    return f"; {count(weak, 'figure')} of the powder's law rest on memory or assumption" if weak else ""


def _quicker(sintered: Sintered) -> Iterator[str]:
    if sintered.debinding:
        yield _debinding(sintered.debinding)
    if sintered.proposal:
        last = sintered.proposal.programme[-1]
        peak = digits_of(round(into(last.target, "degC")))
        yield (
            f"sinter: by the law {peak} °C for {duration(last.hold)} at "
            f"{into(last.rate, 'K/min'):.3g} K/min would do, {duration(sintered.proposal.run)} in all; "
            "a proposal to try with coupons, not planned"
        )


def _debinding(debinding: Debinding) -> str:
    """Pressure and time of the stage as set, and of the one proposed."""
    words = (
        f"debind: {duration(debinding.planned.time)}, {debinding.planned.overpressure / 1e3:.2g} kPa (u "
        f"{debinding.planned_u / 1e3:.1g}) in the {debinding.wall * 1e3:.1f} mm wall of "
        f"{letter(debinding.part)}, {debinding.allowed / 1e3:.3g} allowed"
    )
    if debinding.proposed is None:
        return words
    return (
        f"{words}; {duration(debinding.proposed.time)} would do at "
        f"{debinding.proposed.overpressure / 1e3:.2g} kPa, a proposal to try with coupons"
    )


def _mould(mould: Mould) -> str:
    """What the foundry is told."""
    return (
        f"sand: fineness {mould.fineness:.0f} AFS, permeability {mould.permeability:.0f} AFS (u "
        f"{mould.permeability_u:.0f}), resin {share(mould.resin, 2)}, loss on ignition about "
        f"{share(mould.ignition, 2)} (u {100 * mould.ignition_u:.2f} %), from {mould.standing} figures"
    )


def _chances(job: Job) -> Iterator[str]:
    """One line per part with sizes below 95 %, and how to raise them while the factors come from the card."""
    at_risk = False
    for index, part in enumerate(job.parts):
        low = [
            promise for promise in job.quote.promises if promise.part == index and promise.chance < PROMISED
        ]
        if low:
            words = ", ".join(
                f"{promise.dimension} {promise.nominal_mm:.2f} mm {share(promise.chance)}" for promise in low
            )
            yield f"chance below {share(PROMISED, 0)}: {letter(index)} {part_name(part)}: {words}"
            at_risk = True
    if at_risk and job.factors.origin == "card":
        yield "these rest on the factors of the card; measured ones (`sagger factors approve`) narrow them"


def _remarks(job: Job) -> Iterator[str]:
    """Findings at level look or stop; one line, with the worst of them, for what several boxes share."""
    places: dict[tuple[str, str], list[str]] = {}
    worst: dict[tuple[str, str], Finding] = {}
    for place, finding in _noticed(job):
        key = ("box", finding.what) if place.startswith("box") else (place, finding.text)
        places.setdefault(key, []).append(place)
        if key not in worst or abs(finding.value or 0) > abs(worst[key].value or 0):
            worst[key] = finding
    for key, finding in sorted(worst.items(), key=lambda entry: -entry[1].weight):
        where = ", ".join(dict.fromkeys(places[key]))
        yield f"{LEVEL_WORDS[finding.level]} {finding.what} ({where}): {finding.text}"


def _noticed(job: Job) -> Iterator[tuple[str, Finding]]:
    for index, part in enumerate(job.parts):
        yield from ((f"part {letter(index)}", noticed) for noticed in part.findings if noticed.level != "ok")
    for index, green in enumerate(job.builds[0].layout.greens):
        seen = green.sag.findings if green.sag else ()
        yield from (
            (f"part {letter(index)} in the furnace", noticed) for noticed in seen if noticed.level != "ok"
        )
    yield from ((f"lot {job.bed.lot}", noticed) for noticed in job.bed.findings if noticed.level != "ok")
    carried = job.carried.findings if job.carried else ()
    yield from (("factors", noticed) for noticed in carried if noticed.level != "ok")
    for build in job.builds:
        steps = (build.dose, build.timetable, build.cured, build.depowdering)
        rooms = (
            *build.layout.findings,
            *build.noticed,
            *(noticed for step in steps for noticed in step.findings),
        )
        yield from ((f"box {build.layout.number}", noticed) for noticed in rooms if noticed.level != "ok")
    fired = job.sintered.findings if job.sintered else ()
    yield from (("furnace", noticed) for noticed in fired if noticed.level != "ok")
    if job.mould:
        yield from (("mould", noticed) for noticed in job.mould.findings if noticed.level != "ok")
    yield from (
        ("promise", finding)
        for finding in job.promised.findings
        if finding.level != "ok" and finding.what not in SAID
    )
    yield from (("quote", finding) for finding in job.quote.findings if finding.level != "ok")
