"""One job as a route from part file to price: each step, how it stands and what it came to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sagger.goods.good import good
from sagger.views.standing import Rest, rest
from sagger.views.wording import count, digits, digits_of, duration, mass, moment, sizes

ROOMS = {
    "intake": "Parts",
    "bed": "Powder bed",
    "shrink": "Size to print",
    "nest": "Box",
    "layers": "Layers",
    "dosing": "Powder and binder",
    "cycle": "Printing time",
    "cure": "Oven",
    "depowder": "Unpacking",
    "mould": "Mould",
    "sinter": "Furnace",
    "cost": "Price and promise",
}
ENDS = ("mould", "sinter")  # sand stops in a mould, the others go through the furnace
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
    findings: tuple[Mapping[str, Any], ...]  # at level look or stop, worst first
    rests: Rest | None  # None while there is no result


def route(row: Mapping[str, Any], used: Iterable[str], plan: Mapping[str, Any] | None) -> tuple[Leg, ...]:
    """The route of a job.

    Parameters
    ----------
    row : mapping
        The job as the ledger knows it: state, step, doing, done, total.
    used : iterable of str
        Verbs whose results are there, "sagger.stations.nest.pack" and so on.
    plan : mapping or None
        Its plan.json, once there is one.
    """
    if plan is not None:
        whole = plan["state"] == "planned"
        rooms = [room for room in ROOMS if room not in ENDS or not whole or plan[room]]
        return tuple(_done(room, plan) for room in rooms)
    rooms = [room for room in ROOMS if room != "mould" or row["step"] == "mould"]
    at = _at(row, set(used))
    return tuple(_open(room, place, rooms.index(at) if at else -1, row) for place, room in enumerate(rooms))


def _at(row: Mapping[str, Any], used: set[str]) -> str:
    """The step at work; "" before the first."""
    step = row["step"]
    nested = any(verb.startswith("sagger.stations.nest.pack") for verb in used)
    if step == "layers" and not nested:
        return "nest"  # the layers are asked first how far pieces must lie apart
    if step == "sinter" and not nested:
        return "shrink"  # the furnace is asked first how to bend a part against sagging
    return step if step in ROOMS else ""


def _open(room: str, place: int, at: int, row: Mapping[str, Any]) -> Leg:
    running = row["state"] == "running" and place == max(at, 0)
    state = "running" if running else "ready" if place < at else "to come"
    share = row["done"] / row["total"] if running and row["total"] else None
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


def _doing(row: Mapping[str, Any]) -> str:
    if not row["doing"]:
        return "starting"
    counted = f", {digits_of(row['done'])} of {digits_of(row['total'])}" if row["total"] else ""
    words = row["doing"].rpartition(".")[2] if " " not in row["doing"] else row["doing"]
    return f"{words}{counted}"


def _done(room: str, plan: Mapping[str, Any]) -> Leg:
    found = [each for each in plan["findings"] if each["station"] == room and each["level"] != "ok"]
    found.sort(key=lambda each: STATES.index(each["level"]), reverse=True)
    whole = plan["state"] == "planned"
    there = whole or room == "intake"
    return Leg(
        room=room,
        name=ROOMS[room],
        state=(found[0]["level"] if found else "ready") if there else "to come",
        share=None,
        doing="",
        says=tuple(_SAYS[room](plan)) if there else (),
        findings=tuple(found),
        rests=rest(plan, room) if whole else None,
    )


def _parts(plan: Mapping[str, Any]) -> list[str]:
    return [
        f"{part['letter']} {part['name']}: {part['quantity']} × {sizes(part['extent_mm'])} mm"
        for part in plan["parts"]
    ]


def _bed(plan: Mapping[str, Any]) -> list[str]:
    bed = plan["bed"]
    lot = f"lot {bed['lot']}" if bed["lot"] else "the powder card, no lot named"
    return [
        f"packing {bed['packing_percent']:.1f} ± {bed['packing_u_percent']:.1f} %, green density "
        f"{bed['green_density_percent']:.1f} ± {bed['green_density_u_percent']:.1f} % (standard uncertainty)",
        f"from {lot}: {bed['basis']}",
    ]


def _sizes(plan: Mapping[str, Any]) -> list[str]:
    factors = plan["factors"]
    words = ", ".join(
        f"{axis} {k:.4f} ± {u:.4f}" for axis, k, u in zip("xyz", factors["k"], factors["u"], strict=True)
    )
    return [f"oversize {words} (standard uncertainty)", f"from {_origin(factors['origin'])}"]


def _origin(origin: str) -> str:
    return "the powder card" if origin == "card" else origin


def _boxes(plan: Mapping[str, Any]) -> list[str]:
    boxes = plan["boxes"]
    pieces = sum(box["pieces"] for box in boxes)
    first = boxes[0]
    least = first["least_gap_mm"]
    apart = f", closest pieces {least:.2f} mm apart" if least is not None else ""
    return [
        f"{count(pieces, 'piece')} in {count(len(boxes), 'box', 'boxes')}",
        f"box 1: {first['height_mm']:.1f} of {first['size_mm'][2]:.0f} mm high, "
        f"{first['density_percent']:.1f} % filled{apart}",
    ]


def _layers(plan: Mapping[str, Any]) -> list[str]:
    layers, drops = sum(box["layers"]["count"] for box in plan["boxes"]), plan["drops"]
    return [
        f"{count(layers, 'layer')} of {digits(plan['layers']['thickness_um'])} µm",
        f"{digits_of(sum(box['drops']['count'] for box in plan['boxes']))} drops "
        f"of {digits(drops['volume_pL'])} pL",
    ]


def _dose(plan: Mapping[str, Any]) -> list[str]:
    drops, boxes = plan["drops"], plan["boxes"]
    fed, lost = (sum(box["powder"][key] for box in boxes) for key in ("fed_kg", "lost_kg"))
    binder = sum(box["binder"]["volume_mL"] for box in boxes)
    return [
        f"saturation {drops['saturation_percent']:.1f} % (asked {drops['saturation_asked_percent']:.1f} %)",
        f"powder fed {mass(fed)}, lost {mass(lost)}; binder {digits(binder)} mL",
    ]


def _times(plan: Mapping[str, Any]) -> list[str]:
    hours = sum(box["times"]["build_h"] for box in plan["boxes"])
    return [f"layer {duration(plan['times']['layer_s'])}, printing {duration(hours * 3600)}"]


def _oven(plan: Mapping[str, Any]) -> list[str]:
    cure = plan["cure"]
    return [
        f"{cure['oven_temperature_degC']:.0f} °C for {duration(cure['hold_h'] * 3600)}, "
        f"then {duration(cure['cool_h'] * 3600)} cooling",
        f"core reaches {cure['core_temperature_degC']:.0f} °C after "
        f"{duration(cure['time_to_temperature_h'] * 3600)}",
    ]


def _unpacking(plan: Mapping[str, Any]) -> list[str]:
    told = [box["depowder"] for box in plan["boxes"]]
    hours, back, lost = (sum(each[key] for each in told) for key in ("hands_on_h", "cake_kg", "lost_kg"))
    return [f"{duration(hours * 3600)} by hand, {mass(back)} of powder back, {mass(lost)} lost"]


def _mould(plan: Mapping[str, Any]) -> list[str]:
    mould = plan["mould"]
    return [
        f"grain fineness {mould['fineness_AFS']:.0f} AFS, permeability {mould['permeability_AFS']:.0f} ± "
        f"{mould['permeability_AFS_u']:.0f} AFS",
        f"resin {mould['resin_percent']:.2f} %, loss on ignition {mould['loss_on_ignition_percent']:.2f} ± "
        f"{mould['loss_on_ignition_u_percent']:.2f} % (standard uncertainty)",
    ]


def _furnace(plan: Mapping[str, Any]) -> list[str]:
    fired = plan["sinter"]
    return [
        f"peak {fired['peak_degC']:.0f} °C, {count(fired['load']['runs'], 'run')} of "
        f"{duration(fired['run_h'] * 3600)}, {count(fired['load']['trays'], 'tray')}",
        f"relative density {fired['final_relative_density_percent']:.1f} ± "
        f"{fired['final_relative_density_u_percent']:.1f} % (standard uncertainty)",
    ]


def _quote(plan: Mapping[str, Any]) -> list[str]:
    quote = plan["quote"]
    said = [f"order {quote['total']:.2f} {quote['currency']}, ready {moment(quote['ready'])}"]
    if quote["promises"]:
        least = min(quote["promises"], key=lambda each: each["chance_percent"])
        part = plan["parts"][least["part"]]
        said.append(
            f"least certain size: {part['letter']} {part['name']}, {least['dimension']} "
            f"{least['nominal_mm']:.2f} mm, inside tolerance with a chance of {least['chance_percent']:.0f} %"
        )
    return said


_SAYS = {
    "intake": _parts,
    "bed": _bed,
    "shrink": _sizes,
    "nest": _boxes,
    "layers": _layers,
    "dosing": _dose,
    "cycle": _times,
    "cure": _oven,
    "depowder": _unpacking,
    "mould": _mould,
    "sinter": _furnace,
    "cost": _quote,
}
