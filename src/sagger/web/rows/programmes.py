"""Programmes of oven and furnace: what was planned, what a change does, and the order that it becomes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from sagger import units
from sagger.errors import InputError
from sagger.goods import plain
from sagger.goods.good import good
from sagger.goods.plain import Table
from sagger.goods.planned import PlanCure, PlanFinding, PlanFiring, WholePlan
from sagger.views.charts import programme
from sagger.views.charts.screen import Heating, PlottedStretch
from sagger.views.wording import digits, duration, likely
from sagger.views.words.standing import Rest, rest
from sagger.web import markup

OVEN, FURNACE = "oven_programme", "furnace_programme"  # tables of an order file
POINT = "[choices], oven"  # field of the set point
NEW: dict[str, Table] = {
    OVEN: {"rate": "2 K/min", "target": "120 degC", "hold": "30 min"},
    FURNACE: {
        "stage": "sintering",
        "rate": "5 K/min",
        "target": "1000 degC",
        "hold": "30 min",
        "atmosphere": "hydrogen",
    },
}
SECONDS_PER_HOUR = 3600.0

Stretches = list[Table]  # as an order file writes them


@good
class Heat:
    """One oven or furnace as it was planned."""

    key: str  # OVEN or FURNACE
    name: str
    rows: Stretches
    start: float  # temperature at the beginning [°C]
    most: float  # highest temperature [°C]; 0 = unknown
    limit: str  # what stands there
    point: str  # set point held after the stretches, with unit; "" = there is none
    rise: float  # rate towards the set point [K/min]
    box: int | None  # from 0; None of the furnace
    planned: PlanCure | PlanFiring
    rests: Rest


def ovens(plan: WholePlan, rows: Stretches | None, most: float) -> list[Heat]:
    """The oven of each box.

    Parameters
    ----------
    plan : WholePlan
        Of the job.
    rows : list of dict or None
        Stretches of the order before the set point; None = as each box was planned.
    most : float
        Highest set point of the card [°C]; 0 = unknown.
    """
    return [_oven(plan, place, rows, most) for place in range(len(plan.boxes))]


def furnace(plan: WholePlan, rows: Stretches | None, most: float) -> Heat | None:
    """The furnace run, None for sand; without `rows` of an order those of the plan."""
    fired = plan.sinter
    if not fired:
        return None
    return Heat(
        key=FURNACE,
        name="Furnace",
        rows=rows if rows is not None else of_furnace(fired),
        start=programme.START,
        most=most,
        limit="highest temperature of the furnace card",
        point="",
        rise=0.0,
        box=None,
        planned=fired,
        rests=rest(plan, "sinter"),
    )


def heating(heat: Heat, rows: Stretches, point: str, tried: PlanCure | PlanFiring | None) -> Heating:
    """The chart of a programme.

    Parameters
    ----------
    heat : Heat
        As it was planned.
    rows, point : list of dict, str
        Stretches and set point as they are written now.
    tried : PlanCure or PlanFiring, optional
        What it does now; None = as it was planned.
    """
    now, before = tried or heat.planned, heat.planned if tried else None
    if isinstance(now, PlanFiring):
        fired = before if isinstance(before, PlanFiring) else None
        beside, beneath = programme.cooling(now), programme.furnace(now, fired, weak=heat.rests.weak)
    else:
        cured = before if isinstance(before, PlanCure) else None
        beside, beneath = programme.oven(now, cured, weak=heat.rests.weak)
    return Heating(
        stretches=programme.stretches(rows),
        set_point=set_point(point, heat.rise),
        start=heat.start,
        most=heat.most,
        limit=heat.limit,
        beside=beside,
        beneath=beneath,
    )


def facts(heat: Heat, tried: PlanCure | PlanFiring | None) -> Markup:
    """What a programme comes to, as it was tried, or as it was planned if `tried` is None."""
    now = tried or heat.planned
    return furnace_facts(now, heat.rests) if isinstance(now, PlanFiring) else oven_facts(now, heat.rests)


def rise(corners: Sequence[Sequence[float]], place: int) -> float:
    """Heating rate of a stretch [K/min], the set point being the last.

    Parameters
    ----------
    corners : sequence of (hour, °C)
        Of the programme: its beginning, then two a stretch.
    place : int
        Which stretch, from 0.
    """
    (begin, cold), (end, hot) = corners[2 * place], corners[2 * place + 1]
    return abs(hot - cold) / max((end - begin) * 60, 1e-9)


def of_corners(corners: Sequence[Sequence[float]]) -> Stretches:
    """The stretches before the set point, as an order file writes them, from the corners of a plan."""
    stretches: Stretches = []
    for place in range((len(corners) - 3) // 2):
        (_, _), (reached, target), (left, _) = corners[2 * place : 2 * place + 3]
        row = {"rate": rise(corners, place), "target": target, "hold": (left - reached) * 60}
        stretches.append({**programme.written(row)})
    return stretches


def of_furnace(fired: PlanFiring) -> Stretches:
    """The furnace programme of a plan as an order file writes it."""
    stretches: Stretches = []
    for row in fired.programme:
        numbers = {"rate": row.rate_K_per_min, "target": row.target_degC, "hold": row.hold_min}
        more = {"stage": row.stage, "atmosphere": row.atmosphere}
        stretches.append({**programme.written(numbers), **more})
    return stretches


def with_changes(tables: Table, heats: Iterable[tuple[Heat, Stretches, str]]) -> Table:
    """Tables of the order with the programmes that differ now from what was planned.

    Parameters
    ----------
    tables : mapping
        Of the order as it was planned.
    heats : iterable of (Heat, list of dict, str)
        Each oven or furnace, its stretches now, and its set point now.
    """
    choices, new = {**plain.table(tables, "choices")}, {**tables}
    for heat, rows, point in heats:
        if rows != heat.rows:
            new[heat.key] = [{**row} for row in rows]
        if point != heat.point:
            choices["oven"] = point
    return {**new, "choices": choices}


def set_point(point: str, rate: float) -> PlottedStretch | None:
    """The set point as the curve draws it, reached at `rate` [K/min]; None if it cannot be read."""
    if not point:
        return None
    try:
        celsius = units.into(units.read(point, "temperature"), "degC")
    except InputError:
        return None
    return PlottedStretch(rate, float(f"{celsius:.8g}"))


def oven_facts(cure: PlanCure, rests: Rest) -> Markup:
    """What a stay in the oven comes to."""
    hold = f"{digits(cure.hold_h)} ± {digits(cure.hold_u_h, 2)} h"
    equivalent = f"{digits(cure.corner_equivalent_h)} of at most {digits(cure.corner_most_h)} h"
    hot, cured = f"{cure.core_temperature_degC:.0f} °C", f"{cure.degree_percent:.0f} %"
    pairs = [
        ("heating, ramp included", hold),
        ("cooling", _hours(cure.cool_h)),
        (f"core reaches {hot} after", _hours(cure.time_to_temperature_h)),
        (f"last piece cured to {cured} after", _hours(cure.time_to_cure_h)),
        ("hottest piece, time at cure temperature", equivalent),
    ]
    return markup.facts((name, markup.resting(text, rests)) for name, text in pairs)


def furnace_facts(fired: PlanFiring, rests: Rest) -> Markup:
    """What a furnace run comes to."""
    dense, u = fired.final_relative_density_percent, fired.final_relative_density_u_percent
    ends = fired.final_relative_density_low_percent, fired.final_relative_density_high_percent
    pairs = [("relative density", f"{dense:.1f} %, {likely(*ends, u)}")]
    pairs += [
        (f"linear shrinkage {axis}", f"{100 * (1 - ratio):.2f} ± {100 * doubt:.2f} %")
        for axis, ratio, doubt in zip("xyz", fired.ratio, fired.ratio_u, strict=True)
    ]
    pairs += [
        ("peak", f"{fired.peak_degC:.0f} °C"),
        ("one run", _hours(fired.run_h)),
        ("runs", str(fired.load.runs)),
    ]
    if fired.debinding:
        pairs.append(("core of the thickest wall lags by", f"{digits(fired.debinding.lag_K, 2)} K"))
    return markup.facts((name, markup.resting(text, rests)) for name, text in pairs)


def findings(noticed: Iterable[PlanFinding]) -> Markup:
    """What a person should look at in a programme that was tried."""
    block = Markup('<div class="found {}"><p><strong>{}</strong>: {} {}</p></div>')
    return Markup("").join(
        block.format(finding.level, finding.what, markup.coded(finding.text), markup.coded(finding.remedy))
        for finding in noticed
    )


def _oven(plan: WholePlan, place: int, rows: Stretches | None, most: float) -> Heat:
    cure = plan.boxes[place].cure
    stretches = of_corners(cure.programme) if rows is None else [dict(row) for row in rows]
    return Heat(
        key=OVEN,
        name=f"Oven, box {plan.boxes[place].number}{' (the same programme)' if place else ''}",
        rows=stretches,
        start=cure.programme[0][1],
        most=most,
        limit="highest set point of the oven card",
        point=f"{cure.oven_temperature_degC:g} degC",
        rise=rise(cure.programme, len(stretches)),
        box=place,
        planned=cure,
        rests=rest(plan, "cure"),
    )


def _hours(hours: float) -> str:
    return duration(hours * SECONDS_PER_HOUR)
