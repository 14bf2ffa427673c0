"""Factors learnt from readings: proposals that wait for a person, and the asking for new ones."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.cards import DEFAULTS
from sagger.desk import learning, painter, shelf
from sagger.errors import InputError, SaggerError
from sagger.views.learned import SOURCES, VERDICTS
from sagger.views.wording import share
from sagger.web import blocks, frame

SHOWN = 5  # proposals, newest first


def build() -> None:
    """The proposals as part of a page."""
    frame.show("<h2>Learnt from readings</h2>")
    _ask()
    found = learning.waiting()
    if not found:
        frame.show("<p>No proposal waits.</p>")
    for each in found[:SHOWN]:
        _one(each)
    if len(found) > SHOWN:
        frame.show(Markup("<p>{} older ones are not shown.</p>").format(len(found) - SHOWN))


def _ask() -> None:
    kept = shelf.cards("", "")[0]["cards"]
    with ui.expansion("Ask what the readings say").classes("more"):
        with ui.element("div").classes("fields"):
            powder = ui.select(kept["powder"], value=DEFAULTS.powder, label="powder of the readings")
            box = ui.select(
                {"": "no map"} | {name: name for name in kept["box"]}, value="", label="map the bed of"
            )
            for each in (powder, box):
                each.props(frame.LOOK)
            lot = frame.ask("only this lot (empty = all)")
            boxes = frame.ask("only these printed boxes, commas between")
            person = _who("asked by")

        async def ask() -> None:
            only = tuple(word.strip() for word in boxes.value.split(",") if word.strip())
            try:
                frame.allowed("plan")
                if not person.value.strip():
                    raise InputError("who asks for it?", field="asked by", remedy="Write your name.")
                given = powder.value, box.value, only, person.value, lot.value
                await painter.ask(painter.TRIES, "learnt", *given)
                ui.navigate.to("/factors")
            except SaggerError as error:
                frame.refused(error)

        frame.button("Work out a proposal", ask)


def _one(told: dict[str, Any]) -> None:
    with ui.element("section").classes("next").props(f'aria-label="Proposal {told["entry"]}"'):
        head = Markup("<h3>Proposal {}: {}, from {} readings</h3>")
        frame.show(head.format(told["entry"], told["material"], len(told["readings"])))
        rows = [_axis(each) for each in told["axes"]]
        tops = ("Axis", "in force", "found", "pieces", "proposed", "verdict")
        frame.show(blocks.table(tops, rows, f"Proposal {told['entry']}", numbers=(1, 2, 3, 4)))
        frame.show(_scatter(told))
        if told["notes"]:
            frame.show(blocks.items(told["notes"]))
        if any(each["verdict"] == "blocked" for each in told["axes"]):
            frame.show(
                "<p>It contradicts what is in force: find out why. If it is right, approve the factors by "
                "hand, below.</p>"
            )
            return
        with ui.element("div").classes("acts"):
            person, reason = _who("approved by"), frame.ask("why it is right")
            frame.button(
                "Approve this proposal", partial(_approve, told["entry"], person, reason), solid=True
            )


def _axis(each: dict[str, Any]) -> tuple[object, ...]:
    return (
        each["axis"],
        f"{each['before']:.5f} ± {each['before_u']:.5f}",
        f"{each['found']:.5f} ± {each['found_u']:.5f}",
        each["pieces"],
        f"{each['k']:.5f} ± {each['u']:.5f}",
        VERDICTS[each["verdict"]],
    )


def _scatter(told: dict[str, Any]) -> Markup:
    scatter = told["scatter"]
    parts = ", ".join(f"{words} {share(scatter[name], 3)}" for name, words in SOURCES)
    gauge = f"gauge {scatter['gauge_mm']:.3f} mm"
    return Markup("<p>Scatter of a length (standard deviations): {}; {}.</p>").format(parts, gauge)


async def _approve(number: int, person: Any, reason: Any) -> None:
    try:
        frame.allowed("approve")
        said = await asyncio.to_thread(learning.approve, number, person.value, reason.value)
        ui.navigate.to("/factors")
        frame.told(said)
    except SaggerError as error:
        frame.refused(error)


def _who(words: str) -> Any:
    known = frame.person()["name"] if frame.rules().accounts() else ""
    field = frame.ask(words, known)
    return field.props("readonly") if known else field
