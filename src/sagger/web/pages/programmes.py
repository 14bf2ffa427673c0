"""Oven and furnace of a job: their programmes as curves to be changed, and what the pieces do beneath."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import drafts, history, runs
from sagger.desk.programmes import Programmes, programmes
from sagger.errors import InputError, SaggerError
from sagger.views import programme
from sagger.views.standing import Rest, rest
from sagger.views.wording import digits, duration
from sagger.web import blocks, form, frame
from sagger.web.pages.stretches import Editor, Heat

OVEN, FURNACE = "oven_programme", "furnace_programme"


def put_up() -> None:
    ui.page("/job/{number}/programmes")(_programmes)


def planned(number: int) -> dict[str, Any] | None:
    """The plan of a job, or None after the page said why there is none."""
    try:
        plan = history.plan(number)
    except SaggerError as error:
        ui.label(str(error))
        return None
    frame.back(f"/job/{number}", "Back to the route")
    if plan is None or plan["state"] != "planned":
        ui.label("There is no plan yet.")
        return None
    return plan


def _programmes(number: int) -> None:
    with frame.page("Programmes", wide=True):
        plan = planned(number)
        if plan is None:
            return
        known, version = programmes(number), history.version(number)
        fields: form.Fields = {}
        tables = drafts.tables(version["id"]) if version else {}
        editors: dict[str, Editor] = {}

        def said() -> dict[str, Any]:
            """The order with the programmes that differ now from what was planned."""
            new = tables | {"choices": dict(tables.get("choices", {}))}
            for name, editor in editors.items():
                if editor.changed():
                    new[name] = [dict(row) for row in editor.rows]
            if OVEN in editors and editors[OVEN].point != editors[OVEN].heat.point:
                new["choices"]["oven"] = editors[OVEN].point
            return new

        if known:
            _acts(number, version, editors, fields, said)
        heat = _oven(number, plan, 0, known)
        editors[OVEN] = Editor(_name(plan, 0), heat, fields, said, open_=known is not None)
        if plan["sinter"]:
            heat = _furnace(number, plan, known)
            editors[FURNACE] = Editor("Furnace", heat, fields, said, open_=known is not None)
        for place in range(1, len(plan["boxes"])):
            Editor(_name(plan, place), _oven(number, plan, place, known), {}, said, open_=False)


def _name(plan: dict[str, Any], place: int) -> str:
    same = " (the same programme)" if place else ""
    return f"Oven, box {plan['boxes'][place]['number']}{same}"


def _acts(
    number: int,
    version: dict[str, Any] | None,
    editors: dict[str, Editor],
    fields: form.Fields,
    said: Callable[[], dict[str, Any]],
) -> None:
    async def keep() -> None:
        try:
            who = frame.allowed("plan")
            made = await asyncio.to_thread(
                drafts.change, version["id"] if version else 0, said(), who["name"]
            )
            job = await asyncio.to_thread(runs.ask, made, who["name"])
            ui.navigate.to(f"/compare?one={number}&other={job}")
        except InputError as error:
            form.point(fields, error)
        except SaggerError as error:
            frame.refused(error)

    def undo() -> None:
        for each in editors.values():
            each.undo()

    frame.show("<p>Change a curve: what it does is worked out anew at once, and kept once you plan it.</p>")
    with ui.element("div").classes("acts keep"):
        frame.button("Plan this beside the other", keep, solid=True)
        frame.button("Back to what was planned", undo)


def _oven(number: int, plan: dict[str, Any], place: int, known: Programmes | None) -> Heat:
    planned_, rests = plan["boxes"][place]["cure"], rest(plan, "cure")
    corners = planned_["programme"]
    rows = [dict(each) for each in known.oven] if known else []
    at = 2 * len(rows)
    rise = (corners[at + 1][1] - corners[at][1]) / max((corners[at + 1][0] - corners[at][0]) * 60, 1e-9)

    def drawn(now: dict[str, Any] | None) -> Any:
        cure = now["cure"] if now else planned_
        top, strips = programme.oven(cure, planned_ if now else None, weak=rests.weak)
        return top, strips, _oven_facts(cure, rests)

    return Heat(
        key=OVEN,
        rows=rows,
        start=corners[0][1],
        most=known.oven_most if known else 0.0,
        limit="highest set point of the oven card",
        point=f"{planned_['oven_temperature_degC']:g} degC",
        rise=abs(rise),
        drawn=drawn,
        what="oven_tried",
        given=(number, place),
    )


def _furnace(number: int, plan: dict[str, Any], known: Programmes | None) -> Heat:
    planned_, rests = plan["sinter"], rest(plan, "sinter")

    def drawn(now: dict[str, Any] | None) -> Any:
        fired = now["sinter"] if now else planned_
        strips = programme.furnace(fired, planned_ if now else None, weak=rests.weak)
        return programme.cooling(fired), strips, _furnace_facts(fired, rests)

    return Heat(
        key=FURNACE,
        rows=[dict(each) for each in known.furnace] if known else _as_planned(planned_),
        start=programme.START,
        most=known.furnace_most if known else 0.0,
        limit="highest temperature of the furnace card",
        point="",
        rise=0.0,
        drawn=drawn,
        what="furnace_tried",
        given=(number,),
    )


def _as_planned(fired: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        programme.written(
            {"rate": each["rate_K_per_min"], "target": each["target_degC"], "hold": each["hold_min"]}
        )
        | {"stage": each["stage"], "atmosphere": each["atmosphere"]}
        for each in fired["programme"]
    ]


def _oven_facts(cure: dict[str, Any], rests: Rest) -> Markup:
    hold = f"{digits(cure['hold_h'])} ± {digits(cure['hold_u_h'], 2)} h"
    seen = f"{digits(cure['corner_equivalent_h'])} of at most {digits(cure['corner_most_h'])} h"
    pairs = [
        ("heating, ramp included", hold),
        ("cooling", duration(cure["cool_h"] * 3600)),
        (
            f"core reaches {cure['core_temperature_degC']:.0f} °C after",
            duration(cure["time_to_temperature_h"] * 3600),
        ),
        (
            f"last piece cured to {cure['degree_percent']:.0f} % after",
            duration(cure["time_to_cure_h"] * 3600),
        ),
        ("hottest piece, time at cure temperature", seen),
    ]
    return blocks.facts((name, blocks.resting(text, rests)) for name, text in pairs)


def _furnace_facts(fired: dict[str, Any], rests: Rest) -> Markup:
    density = (
        f"{fired['final_relative_density_percent']:.1f} ± {fired['final_relative_density_u_percent']:.1f} %"
    )
    pairs = [("relative density", density)]
    pairs += [
        (f"linear shrinkage {axis}", f"{100 * (1 - ratio):.2f} ± {100 * u:.2f} %")
        for axis, ratio, u in zip("xyz", fired["ratio"], fired["ratio_u"], strict=True)
    ]
    pairs += [
        ("peak", f"{fired['peak_degC']:.0f} °C"),
        ("one run", duration(fired["run_h"] * 3600)),
        ("runs", str(fired["load"]["runs"])),
    ]
    if fired["debinding"]:
        pairs.append(("core of the thickest wall lags by", f"{digits(fired['debinding']['lag_K'], 2)} K"))
    return blocks.facts((name, blocks.resting(text, rests)) for name, text in pairs)
