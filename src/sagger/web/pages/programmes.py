"""Oven and furnace of a job: what is set, and what the pieces do; and its price by parts."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import history
from sagger.errors import SaggerError
from sagger.views import programme
from sagger.views.standing import rest
from sagger.views.wording import digits, duration
from sagger.web import blocks, frame


def put_up() -> None:
    ui.page("/job/{number}/programmes")(_programmes)
    ui.page("/job/{number}/price")(_price)


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


def chart(option: dict[str, Any], words: str) -> ui.echart:
    """A chart that names itself; drawn as SVG, so that the page's own colours reach it."""
    return ui.echart(option, renderer="svg").classes("chart").props(f'role="img" aria-label="{words}"')


def _programmes(number: int) -> None:
    with frame.page("Programmes", wide=True):
        plan = planned(number)
        if plan is None:
            return
        if history.facts(number)["version"]:
            frame.show(blocks.link(f"/job/{number}/programmes/change", "Change the programmes", "plain"))
        for place, box in enumerate(plan["boxes"]):
            above, below = programme.oven(plan, place)
            with ui.element("section"):
                frame.show(f"<h2>Oven, box {box['number']}</h2>{_oven(plan, box)}")
                chart(above, "temperature of oven and pieces over hours")
                chart(below, "degree of cure over hours")
        if plan["sinter"]:
            above, below = programme.furnace(plan)
            with ui.element("section"):
                frame.show(f"<h2>Furnace</h2>{_furnace(plan)}")
                chart(above, "temperature of the furnace over hours")
                chart(below, "density, shrinkage and burnout over hours")
                frame.show(_stretches(plan["sinter"]["programme"]))


def _oven(plan: dict[str, Any], box: dict[str, Any]) -> Markup:
    cure, rests = box["cure"], rest(plan, "cure")
    hold = f"{digits(cure['hold_h'])} ± {digits(cure['hold_u_h'], 2)} h"
    pairs = [
        ("heating, ramp included", blocks.resting(hold, rests)),
        ("cooling", blocks.resting(duration(cure["cool_h"] * 3600), rests)),
        (
            f"coldest piece reaches {cure['core_temperature_degC']:.0f} °C after",
            blocks.resting(duration(cure["time_to_temperature_h"] * 3600), rests),
        ),
        (
            f"last piece cured to {cure['degree_percent']:.0f} % after",
            blocks.resting(duration(cure["time_to_cure_h"] * 3600), rests),
        ),
    ]
    return blocks.facts(pairs)


def _furnace(plan: dict[str, Any]) -> Markup:
    fired, rests = plan["sinter"], rest(plan, "sinter")
    density = (
        f"{fired['final_relative_density_percent']:.1f} ± {fired['final_relative_density_u_percent']:.1f} %"
    )
    ratios = ", ".join(
        f"{axis} {100 * (1 - ratio):.2f} ± {100 * u:.2f} %"
        for axis, ratio, u in zip("xyz", fired["ratio"], fired["ratio_u"], strict=True)
    )
    pairs = [
        ("relative density", blocks.resting(density, rests)),
        ("linear shrinkage", blocks.resting(ratios, rests)),
        ("peak", blocks.resting(f"{fired['peak_degC']:.0f} °C", rests)),
        ("one run", blocks.resting(duration(fired["run_h"] * 3600), rests)),
    ]
    return blocks.facts(pairs)


def _stretches(programme_: list[dict[str, Any]]) -> Markup:
    rows = [
        (
            each["stage"],
            digits(each["rate_K_per_min"], 2),
            f"{each['target_degC']:.0f}",
            f"{each['hold_min']:.0f}",
            each["atmosphere"],
        )
        for each in programme_
    ]
    head = ("Stage", "rate, K/min", "to, °C", "hold, min", "Atmosphere")
    return blocks.table(head, rows, "Stretches as planned", numbers=(1, 2, 3))


def _price(number: int) -> None:
    with frame.page("Price", wide=True):
        plan = planned(number)
        if plan is None:
            return
        quote, rests = plan["quote"], rest(plan, "cost")
        total = blocks.resting(f"{quote['total']:.2f} {quote['currency']}", rests)
        frame.show(Markup("<h2>Whole order: {}</h2>").format(total))
        chart(programme.price(plan), "parts of the price")
        rows = [
            (line["name"], blocks.resting(f"{line['amount']:.2f}", rests), line["basis"])
            for line in quote["lines"]
        ]
        head = ("Part of the price", quote["currency"], "worked out from")
        frame.show(blocks.table(head, rows, "Parts of the price", numbers=(1,)))
        frame.show(_pieces(plan))
        frame.show(_promises(plan))


def _pieces(plan: dict[str, Any]) -> Markup:
    rests = rest(plan, "cost")
    rows = [
        (
            plan["parts"][each["part"]]["name"],
            each["good_pieces"],
            blocks.resting(f"{each['price_per_piece']:.2f}", rests),
        )
        for each in plan["quote"]["prices"]
    ]
    head = ("Part", "good pieces expected", f"{plan['quote']['currency']} a piece")
    return Markup("<h2>By piece</h2>{}").format(blocks.table(head, rows, "Price by piece", numbers=(1, 2)))


def _promises(plan: dict[str, Any]) -> Markup:
    rests = rest(plan, "shrink")
    rows = [
        (
            f"{plan['parts'][each['part']]['name']}, {each['dimension']}",
            f"{each['nominal_mm']:.2f}",
            f"{each['lower_mm']:.2f} to {each['upper_mm']:.2f}",
            blocks.resting(f"± {digits(each['u_mm'], 2)}", rests),
            blocks.resting(f"{each['chance_percent']:.1f} %", rests),
            ", ".join(f"{share['name']} {share['percent']:.0f} %" for share in each["shares"][:3]),
        )
        for each in plan["quote"]["promises"]
    ]
    head = ("Size", "nominal, mm", "allowed, mm", "uncertainty, mm", "chance inside", "doubt comes from")
    return Markup("<h2>What can be promised</h2>{}").format(
        blocks.table(head, rows, "What can be promised", numbers=(1, 3, 4))
    )
