"""Two jobs side by side: odds, time, powder, price, and by how much they differ."""

from __future__ import annotations

import dataclasses
from itertools import groupby
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import history
from sagger.errors import SaggerError
from sagger.views.changes import changes
from sagger.views.compare import Pair, compare
from sagger.views.headline import GROUP, headline
from sagger.views.wording import signed
from sagger.web import blocks, frame

EVERY_S = 0.5


def put_up() -> None:
    ui.page("/compare")(_page)


def _page(one: int, other: int) -> None:
    with frame.page("Side by side", wide=True):
        shown = frame.show("")
        seen: list[Any] = []

        def look() -> None:
            try:
                rows = [history.facts(each) for each in (one, other)]
            except SaggerError as error:
                shown.content = str(blocks.safe(error))
                return
            now = [(row["state"], row["step"], row["done"]) for row in rows]
            if now != seen:
                seen[:] = now
                shown.content = str(_both(one, other, rows))

        look()
        ui.timer(EVERY_S, look)


def _both(one: int, other: int, rows: list[dict[str, Any]]) -> Markup:
    plans = [history.plan(each) for each in (one, other)]
    heads = Markup("").join(_head(row) for row in rows)
    parts = [Markup('<div class="fields">{}</div>').format(heads), _differs(one, other)]
    if all(plan and plan["state"] == "planned" for plan in plans):
        parts.append(_tables((*_short(*plans), *compare(*plans)), rows))  # type: ignore[arg-type]
    else:
        parts.append(Markup("<p>The comparison comes when both are planned.</p>"))
    return Markup("").join(parts)


def _short(one: dict[str, Any], other: dict[str, Any]) -> tuple[Pair, ...]:
    return tuple(dataclasses.replace(each, group=GROUP) for each in headline(one, other))


def _head(row: dict[str, Any]) -> Markup:
    bar = ""
    if row["state"] == "running":
        value = Markup(' value="{}"').format(row["done"] / row["total"]) if row["total"] else ""
        bar = Markup('<p><progress max="1"{} aria-label="{}"></progress> {}</p>').format(
            value, row["name"], row["doing"]
        )
    return Markup("<div><h2>{} {}</h2>{}</div>").format(
        blocks.link(f"/job/{row['id']}", _title(row)), blocks.state(row["state"]), bar
    )


def _title(row: dict[str, Any]) -> str:
    version = history.version(row["id"])
    return f"{row['name']}, version {version['number']}" if version else f"{row['name']}, job {row['id']}"


def _differs(one: int, other: int) -> Markup:
    said = history.order_tables(one), history.order_tables(other)
    if said[0] is None or said[1] is None:
        return Markup("")
    lines = changes(said[0], said[1])
    return Markup("<h2>What was changed</h2>{}").format(
        blocks.items(map(signed, lines)) if lines else "nothing in the order"
    )


def _tables(pairs: tuple[Pair, ...], rows: list[dict[str, Any]]) -> Markup:
    names = _short_names(rows)
    parts = []
    for group, lines in groupby(pairs, key=lambda pair: pair.group):
        body = [_line(pair, names) for pair in lines]
        head = ("what", *names, "difference", "better")
        table = blocks.table(head, body, group, numbers=(1, 2, 3), kind="pairs")
        parts.append(Markup("<h2>{}</h2>{}").format(group, table))
    return Markup("").join(parts)


def _short_names(rows: list[dict[str, Any]]) -> tuple[str, str]:
    """Two names that differ: versions of one order, or jobs."""
    found = [history.version(row["id"]) for row in rows]
    if all(found) and len({each["number"] for each in found if each}) == 2:
        first, second = (f"version {each['number']}" for each in found if each)
        return first, second
    return f"job {rows[0]['id']}", f"job {rows[1]['id']}"


def _line(pair: Pair, names: tuple[str, str]) -> tuple[object, ...]:
    unit = f" {pair.unit}" if pair.unit else ""
    shown = []
    for side, text, rests in zip(("one", "other"), (pair.one, pair.other), pair.rests, strict=True):
        value = blocks.resting(text + unit, rests)
        shown.append(Markup("<strong>{}</strong>").format(value) if pair.better == side else value)
    better = {"one": names[0], "other": names[1], "": ""}[pair.better]
    differs = pair.differs + (unit if pair.differs and pair.name != "ready" else "")
    return pair.name, *shown, differs or Markup('<span class="small">same</span>'), better
