"""The steps of one box as a traveller lists them: what is set, and what a person writes down."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from sagger.goods.binder import Binder
from sagger.goods.caution import Caution
from sagger.goods.cured import CuredSpot
from sagger.goods.depowdering import Depowdering
from sagger.goods.dose import Dose
from sagger.goods.head import Head
from sagger.goods.job import Build, Job
from sagger.goods.mould import Mould
from sagger.goods.sintered import Sintered
from sagger.goods.timetable import Timetable
from sagger.units import into
from sagger.views.pictures.palette import letter, spotted
from sagger.views.wording import count, digits, drop_size, duration, mass, share, shown, volume
from sagger.views.words import firing


class TravellerStep(NamedTuple):
    name: str
    settings: list[str]
    blanks: list[str]  # what to read and write down


def steps(job: Job, build: Build, cautions: Sequence[Caution] = ()) -> list[TravellerStep]:
    """The route of one box, in order; with the cautions that unpacking calls for named at it."""
    route = [_powder(job, build), _print(job, build), _cure(job, build), _depowder(job, build, cautions)]
    if job.sintered:
        route.append(_fire(job.sintered))
    if job.mould:
        route.append(_cast(job.mould, job.factors.origin))
    return [*route, _inspect(job)]


def _powder(job: Job, build: Build) -> TravellerStep:
    powder, dose, bed = job.cell.powder, build.dose, job.bed
    flow = f", flow {bed.flow}" if bed.flow else ""
    grains = " / ".join(digits(into(size.value, "um")) for size in (powder.d10, powder.d50, powder.d90))
    settings = [
        f"{powder.title}, lot {bed.lot}" if bed.lot else powder.title,
        f"d10 / d50 / d90 {grains} µm{flow}",
        f"feed at least {mass(dose.powder_fed)}",
        f"packing {share(bed.packing)} of solid (u {share(bed.packing_u)}), green {share(bed.green)} "
        f"(u {share(bed.green_u)})",
        f"these rest on {bed.basis} ({bed.standing})",
    ]
    return TravellerStep(
        "Powder",
        settings,
        ["lot", "used powder, %", "sieve, µm", "density of the spread bed, g/cm³", "weighed, kg"],
    )


def _print(job: Job, build: Build) -> TravellerStep:
    cell, stack, dose, times = job.cell, build.stack, build.dose, build.timetable
    lamp = f", lamp {shown(times.drying.lamp_power, 'W')}" if times.dry > 0 else ""
    air = f", {digits(times.drying.least, 2)} s at least" if times.drying.least > 0 else ""
    settings = [
        f"{count(stack.count, 'layer')} of {digits(stack.layer_mm * 1e3)} µm",
        _drop(dose, cell.head),
        _saturation(dose),
        f"lattice {digits(stack.pitch_mm[0] * 1e3)} × {digits(stack.pitch_mm[1] * 1e3)} µm (x × y)",
        f"{count(times.passes, 'pass', 'passes')} per layer, firing {shown(times.firing, 'kHz')} "
        f"(head: {shown(times.firing_most, 'kHz')})",
        f"layer {duration(times.layer)}: spread {digits(times.spread, 2)}, return {digits(times.back, 2)}, "
        f"print {digits(times.print, 2)}, dry {digits(times.dry, 2)}, clean {digits(times.clean, 2)}, "
        f"platform {digits(times.platform, 2)} s{_helped(times)}",
        f"dry at {shown(cell.binder.bed_temperature.value, 'degC')}{lamp}{air}",
        f"build {duration(times.build)}, setup {duration(times.setup)}; "
        f"{share(times.longest_share, 0)} of it {times.longest}",
        *_buys(times),
        f"binder {volume(dose.binder)} jetted: {cell.binder.title}",
    ]
    return TravellerStep(
        "Print",
        settings,
        [
            "binder lot",
            "drop weighed, pL",
            "nozzles out",
            "bed temperature, °C",
            "began",
            "ended",
            "layers printed",
        ],
    )


def _helped(times: Timetable) -> str:
    """What a powder that does not spread by itself takes in every layer."""
    return f", help with spreading {digits(times.helped, 2)} s" if times.helped else ""


def _drop(dose: Dose, head: Head) -> str:
    """Drop, and between which drops and saturations the head can choose."""
    least, most = (bound.value for bound in (head.drop_least, head.drop_most))
    prints = (
        f"{share(dose.saturation * least / dose.drop, 0)} to {share(dose.saturation * most / dose.drop, 0)}"
    )
    return (
        f"drop {drop_size(dose)} of {digits(into(least, 'pL'))} to {shown(most, 'pL')}, which print {prints}"
    )


def _saturation(dose: Dose) -> str:
    """Saturation with its doubt, what was asked, and what the bed holds if that is known."""
    asked = f", asked {share(dose.saturation_asked)}" if dose.saturation_asked != dose.saturation else ""
    held = f", bed holds {share(dose.equilibrium, 0)}" if dose.equilibrium is not None else ""
    return f"saturation {share(dose.saturation)} (u {share(dose.saturation_u)}){asked}{held}"


def _buys(times: Timetable) -> Iterator[str]:
    """The change that would buy most."""
    if times.changes and times.changes[0].build < times.build:
        best = times.changes[0]
        yield f"{best.name} would save {duration(times.build - best.build)}; {best.note}"


def _cure(job: Job, build: Build) -> TravellerStep:
    cured = build.cured
    settings = [
        f"oven {shown(cured.oven_temperature, 'degC')}, hold {duration(cured.hold)} with its ramp "
        f"(u {duration(cured.hold_u)}), cool {duration(cured.cool)}",
        f"programme: {_corners(cured.programme)}",
        f"last piece{_named(cured.last)}: {shown(cured.core_temperature, 'degC')} after "
        f"{duration(cured.time_to_temperature)}, {share(cured.degree, 0)} cure after "
        f"{duration(cured.time_to_cure)}",
        f"hottest piece{_named(cured.hottest)}: {duration(cured.corner_equivalent)} at "
        f"{shown(cured.core_temperature, 'degC')} or its equal, limit {duration(cured.corner_most)}",
    ]
    settings += _weak_cure(job.cell.binder)
    if cured.shorter:
        found = cured.shorter
        settings.append(f"shorter, to be tried on coupons first: {_corners(found.programme)}")
    if job.cell.binder.solvent.value > 0:
        settings.append("solvent leaves in the oven: exhaust as the oven's maker and local code ask")
    return TravellerStep("Cure", settings, ["in", "out", "core, °C", "mass before, kg", "mass after, kg"])


def _weak_cure(binder: Binder) -> Iterator[str]:
    """Figures of cure that nobody measured on this binder, by name: hours in the oven rest on them."""
    for name, figure in (("time to 95 % cure", binder.cure_t95), ("activation energy", binder.cure_energy)):
        if figure.weak:
            yield f"rests on a {name} of {figure.printed} ({figure.standing}: {figure.where})"


def _corners(programme: tuple[tuple[float, float], ...]) -> str:
    """A programme as its corners, "25 °C, 200 °C at 58 min, 200 °C until 3 h"."""
    words, before = [], None
    for time, kelvin in programme:
        hot = f"{round(into(kelvin, 'degC'))} °C"
        words.append(f"{hot} {'until' if hot == before else 'at'} {duration(time)}" if time else hot)
        before = hot
    return ", ".join(words)


def _named(spot: CuredSpot | None) -> str:
    return f" {spotted(spot)}" if spot else ""


def _depowder(job: Job, build: Build, cautions: Sequence[Caution]) -> TravellerStep:
    emptied, fired = build.depowdering, job.sintered is not None
    sure = f" (u {mass(emptied.cake_u)})" if emptied.cake_u else ""
    settings = [
        f"{count(len(build.layout.pieces), 'piece')}, tally by letter and number; hands-on "
        f"{duration(emptied.hands_on)}",
        f"back to the sieve: {mass(emptied.cake)}{sure} from the box, {mass(emptied.overfed)} overfed; "
        f"{mass(emptied.lost)} lost ({emptied.standing} figures)",
        *_cleaning(job, emptied),
    ]
    if emptied.trapped:
        settings.append(f"{mass(emptied.trapped)} stay in hollows{' and sinter with the pieces' * fired}")
    named = ", ".join(each.key for each in cautions if each.step == "depowder" or "dust" in each.key)
    if named:
        settings.append(f"cautions below: {named}")
    return TravellerStep(
        "Depowder", settings, ["pieces out", "broken (which)", "powder back, kg", "way free (how seen)"]
    )


def _cleaning(job: Job, emptied: Depowdering) -> Iterator[str]:
    """What the parts bear, the parts that bear the same in one line; and what leaves by channels."""
    by_means: dict[str, list[str]] = {}
    for cleaning in emptied.cleanings:
        by_means.setdefault(cleaning.means, []).append(letter(cleaning.part))
    yield "; ".join(f"{', '.join(letters)}: {means}" for means, letters in by_means.items())
    ways = [cleaning for cleaning in emptied.cleanings if cleaning.slimness]
    if ways:
        worst = max(ways, key=lambda cleaning: cleaning.slimness)
        open_at = count(worst.openings, "opening")
        yield (
            f"{mass(emptied.pockets)} leave by channels; the longest way, in {letter(worst.part)}, is "
            f"{digits(worst.slimness, 2)} widths long with {open_at}"
        )


def _fire(sintered: Sintered) -> TravellerStep:
    return TravellerStep(
        "Debind and sinter",
        firing.settings(sintered),
        ["furnace", "run", "tray and shelf", "programme as run", "peak read, °C"],
    )


def _cast(mould: Mould, origin: str) -> TravellerStep:
    """What goes to the foundry with the sand."""
    settings = [
        f"fineness {mould.fineness:.0f} AFS ({mould.basis}), permeability {mould.permeability:.0f} AFS (u "
        f"{mould.permeability_u:.0f})",
        f"resin {share(mould.resin, 2)} of the sand, saturation {share(mould.saturation)}; loss on ignition "
        f"about {share(mould.ignition, 2)} (u {100 * mould.ignition_u:.2f} %; {mould.standing} figures)",
    ]
    cast = mould.contraction
    if cast is None:
        settings.append("no alloy was said: printed at the part's own size")
    else:
        of_card = origin == "casting contraction"
        done = (
            f"printed larger for {cast.alloy}"
            if of_card
            else f"factors from {origin}; {cast.alloy} contracts"
        )
        settings.append(
            f"{done} by {cast.used.printed} ({cast.used.source}, {cast.used.standing}); {cast.other.source} "
            f"has {cast.other.printed}, {cast.apart_mm:.2f} mm on the longest size"
        )
    blanks = ["loss on ignition, %", "permeability, AFS", "alloy poured", "casting measured, mm"]
    return TravellerStep("Mould", settings, blanks)


def _inspect(job: Job) -> TravellerStep:
    settings = ["sizes as in the table of parts"]
    property_read = "strength, MPa"
    if job.sintered:
        property_read = "density, g/cm³"
        solid = job.cell.powder.solid_density.value
        settings.append(
            f"density {shown(solid * job.sintered.final_density, 'g/cm3')} expected, by Archimedes' method"
        )
    return TravellerStep("Inspect", settings, ["instruments", property_read, "good pieces", "released"])
