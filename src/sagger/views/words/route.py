"""One job as a route from part file to price: each step, how it stands and what it came to."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

from sagger.goods.good import good
from sagger.goods.planned import Plan, PlanFinding, PlanFiring, RefusedPlan, WholePlan
from sagger.goods.record import JobRecord
from sagger.stations import (
    bed,
    cost,
    cure,
    cycle,
    depowder,
    dosing,
    intake,
    layers,
    mould,
    nest,
    promise,
    shrink,
    sinter,
)
from sagger.views.wording import count, digits, digits_of, duration, likely, mass, moment, sizes
from sagger.views.words import odds
from sagger.views.words.standing import Rest, rest


def name_of(station: ModuleType) -> str:
    """Name of a step: that of the package that plans it, as the ledger and plan.json write it."""
    return station.__name__.rpartition(".")[2]


ROOMS = {
    name_of(intake): "Parts",
    name_of(bed): "Powder bed",
    name_of(shrink): "Size to print",
    name_of(nest): "Box",
    name_of(layers): "Layers",
    name_of(dosing): "Powder and binder",
    name_of(cycle): "Printing time",
    name_of(cure): "Oven",
    name_of(depowder): "Unpacking",
    name_of(mould): "Mould",
    name_of(sinter): "Furnace",
    name_of(promise): "Chances",
    name_of(cost): "Price and date",
}
STATES = ("to come", "running", "ready", "look", "stop")


@good
class Leg:
    """One step of the route."""

    room: str
    name: str
    state: str  # one of STATES
    share: float | None  # of a running step that knows how much there is [-]
    doing: str  # what a running step is at, in words
    says: tuple[str, ...]  # what it came to, in words and numbers
    findings: tuple[PlanFinding, ...]  # at level look or stop, worst first
    rests: Rest | None  # None while there is no result


def route(row: JobRecord, nested: bool, plan: Plan | None) -> tuple[Leg, ...]:
    """The route of a job.

    Parameters
    ----------
    row : JobRecord
        The job as the ledger knows it.
    nested : bool
        Whether its pieces lie in their boxes already.
    plan : Plan or None
        Once there is one.
    """
    if isinstance(plan, RefusedPlan):
        return tuple(_done(room, plan) for room in ROOMS)
    if plan is not None:
        away = {name_of(mould): plan.mould is None, name_of(sinter): plan.sinter is None}
        return tuple(_done(room, plan) for room in ROOMS if not away.get(room))
    rooms = [room for room in ROOMS if room != name_of(mould) or row.step == room]
    at = _at(row, nested)
    return tuple(_open(room, place, rooms.index(at) if at else -1, row) for place, room in enumerate(rooms))


def _at(row: JobRecord, nested: bool) -> str:
    """The step at work; "" before the first."""
    step = row.step
    if step == name_of(layers) and not nested:
        return name_of(nest)  # the layers are asked first how far pieces must lie apart
    if step == name_of(sinter) and not nested:
        return name_of(shrink)  # the furnace is asked first how to bend a part against sagging
    return step if step in ROOMS else ""


def _open(room: str, place: int, at: int, row: JobRecord) -> Leg:
    running = row.state == "running" and place == max(at, 0)
    state = "running" if running else "ready" if place < at else "to come"
    share = row.done / row.total if running and row.total else None
    return Leg(
        room=room,
        name=ROOMS[room],
        state=state,
        share=share,
        doing=_doing(row) if running else "",
        says=(),
        findings=(),
        rests=None,
    )


def _doing(row: JobRecord) -> str:
    if not row.doing:
        return "starting"
    counted = f", {digits_of(row.done)} of {digits_of(row.total)}" if row.total else ""
    words = row.doing.rpartition(".")[2] if " " not in row.doing else row.doing
    return f"{words}{counted}"


def _done(room: str, plan: Plan) -> Leg:
    noticed = [finding for finding in plan.findings if finding.station == room and finding.level != "ok"]
    noticed.sort(key=lambda finding: STATES.index(finding.level), reverse=True)
    whole = isinstance(plan, WholePlan)
    there = whole or room == name_of(intake)
    return Leg(
        room=room,
        name=ROOMS[room],
        state=(noticed[0].level if noticed else "ready") if there else "to come",
        share=None,
        doing="",
        says=_says(room, plan),
        findings=tuple(noticed),
        rests=rest(plan, room) if isinstance(plan, WholePlan) else None,
    )


def _says(room: str, plan: Plan) -> tuple[str, ...]:
    if isinstance(plan, WholePlan):
        return tuple(_SAYS[room](plan))
    return tuple(_parts(plan)) if room == name_of(intake) else ()


def _parts(plan: Plan) -> list[str]:
    return [f"{part.letter} {part.name}: {part.quantity} × {sizes(part.extent_mm)} mm" for part in plan.parts]


def _bed(plan: WholePlan) -> list[str]:
    spread = plan.bed
    lot = f"lot {spread.lot}" if spread.lot else "the powder card, no lot named"
    return [
        f"packing {spread.packing_percent:.1f} ± {spread.packing_u_percent:.1f} %, green density "
        f"{spread.green_density_percent:.1f} ± {spread.green_density_u_percent:.1f} % (standard uncertainty)",
        f"from {lot}: {spread.basis}",
    ]


def _sizes(plan: WholePlan) -> list[str]:
    factors = plan.factors
    words = ", ".join(
        f"{axis} {k:.4f} ± {u:.4f}" for axis, k, u in zip("xyz", factors.k, factors.u, strict=True)
    )
    return [f"oversize {words} (standard uncertainty)", f"from {_origin(factors.origin)}"]


def _origin(origin: str) -> str:
    return "the powder card" if origin == "card" else origin


def _boxes(plan: WholePlan) -> list[str]:
    boxes = plan.boxes
    pieces = sum(box.pieces for box in boxes)
    first = boxes[0]
    least = first.least_gap_mm
    apart = f", closest pieces {least:.2f} mm apart" if least is not None else ""
    return [
        f"{count(pieces, 'piece')} in {count(len(boxes), 'box', 'boxes')}",
        f"box 1: {first.height_mm:.1f} of {first.size_mm[2]:.0f} mm high, "
        f"{first.density_percent:.1f} % filled{apart}",
    ]


def _layers(plan: WholePlan) -> list[str]:
    number, drops = sum(box.layers.count for box in plan.boxes), plan.drops
    return [
        f"{count(number, 'layer')} of {digits(plan.layers.thickness_um)} µm",
        f"{digits_of(sum(box.drops.count for box in plan.boxes))} drops of {digits(drops.volume_pL)} pL",
    ]


def _dose(plan: WholePlan) -> list[str]:
    drops, boxes = plan.drops, plan.boxes
    fed, lost = sum(box.powder.fed_kg for box in boxes), sum(box.powder.lost_kg for box in boxes)
    binder = sum(box.binder.volume_mL for box in boxes)
    return [
        f"saturation {drops.saturation_percent:.1f} % (asked {drops.saturation_asked_percent:.1f} %)",
        f"powder fed {mass(fed)}, lost {mass(lost)}; binder {digits(binder)} mL",
    ]


def _times(plan: WholePlan) -> list[str]:
    hours = sum(box.times.build_h for box in plan.boxes)
    return [f"layer {duration(plan.times.layer_s)}, printing {duration(hours * 3600)}"]


def _oven(plan: WholePlan) -> list[str]:
    oven = plan.cure
    return [
        f"{oven.oven_temperature_degC:.0f} °C for {duration(oven.hold_h * 3600)}, "
        f"then {duration(oven.cool_h * 3600)} cooling",
        f"core reaches {oven.core_temperature_degC:.0f} °C after "
        f"{duration(oven.time_to_temperature_h * 3600)}",
    ]


def _unpacking(plan: WholePlan) -> list[str]:
    emptied = [box.depowder for box in plan.boxes]
    hours, back = sum(box.hands_on_h for box in emptied), sum(box.cake_kg for box in emptied)
    lost = sum(box.lost_kg for box in emptied)
    return [f"{duration(hours * 3600)} by hand, {mass(back)} of powder back, {mass(lost)} lost"]


def _mould(plan: WholePlan) -> list[str]:
    sand = plan.mould
    if sand is None:
        return []
    return [
        f"grain fineness {sand.fineness_AFS:.0f} AFS, permeability {sand.permeability_AFS:.0f} ± "
        f"{sand.permeability_AFS_u:.0f} AFS",
        f"resin {sand.resin_percent:.2f} %, loss on ignition {sand.loss_on_ignition_percent:.2f} ± "
        f"{sand.loss_on_ignition_u_percent:.2f} % (standard uncertainty)",
    ]


def _furnace(plan: WholePlan) -> list[str]:
    fired = plan.sinter
    if fired is None:
        return []
    return [
        f"peak {fired.peak_degC:.0f} °C, {count(fired.load.runs, 'run')} of "
        f"{duration(fired.run_h * 3600)}, {count(fired.load.trays, 'tray')}",
        f"relative density {fired.final_relative_density_percent:.1f} % ({_sureness(fired)})",
    ]


def _sureness(fired: PlanFiring) -> str:
    ends = fired.final_relative_density_low_percent, fired.final_relative_density_high_percent
    return likely(*ends, fired.final_relative_density_u_percent)


def _chances(plan: WholePlan) -> list[str]:
    lines = []
    for piece in plan.promise.pieces if plan.promise else ():
        part, sure, ceiling = plan.parts[piece.part], piece.sure_percent / 100, piece.ceiling_percent / 100
        chances = (x / 100 for x in (piece.chance_percent, piece.low_percent, piece.high_percent))
        start = odds.start(piece.least, piece.asked, sure, ceiling)
        lines.append(f"{part.letter} {part.name}: {odds.met(*chances)}; {start}")
    if plan.quote.promises:
        least = min(plan.quote.promises, key=lambda size: size.chance_percent)
        part = plan.parts[least.part]
        lines.append(
            f"least certain size: {part.letter} {part.name}, {least.dimension} "
            f"{least.nominal_mm:.2f} mm, inside tolerance with a chance of {least.chance_percent:.0f} %"
        )
    return lines


def _quote(plan: WholePlan) -> list[str]:
    return [f"order {plan.quote.total:.2f} {plan.quote.currency}, ready {moment(plan.quote.ready)}"]


_SAYS: dict[str, Callable[[WholePlan], list[str]]] = {
    name_of(intake): _parts,
    name_of(bed): _bed,
    name_of(shrink): _sizes,
    name_of(nest): _boxes,
    name_of(layers): _layers,
    name_of(dosing): _dose,
    name_of(cycle): _times,
    name_of(cure): _oven,
    name_of(depowder): _unpacking,
    name_of(mould): _mould,
    name_of(sinter): _furnace,
    name_of(promise): _chances,
    name_of(cost): _quote,
}
