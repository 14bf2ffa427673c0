"""Two jobs side by side: odds, time, powder, price, and by how much they differ."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import history
from sagger.errors import SaggerError
from sagger.views.changes import changes
from sagger.views.compare import Pair, compare
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
        parts.append(_table(compare(*plans), rows))  # type: ignore[arg-type]
    else:
        parts.append(Markup("<p>The comparison comes when both are planned.</p>"))
    return Markup("").join(parts)


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
        blocks.items(lines) if lines else "nothing in the order"
    )


def _table(pairs: tuple[Pair, ...], rows: list[dict[str, Any]]) -> Markup:
    names = [_title(row) for row in rows]
    if names[0] == names[1]:
        names = [f"job {row['id']}" for row in rows]
    parts = []
    for group, lines in groupby(pairs, key=lambda pair: pair.group):
        body = [_line(pair) for pair in lines]
        head = ("", *names, "difference", "unit", "better")
        parts.append(
            Markup("<h2>{}</h2>{}").format(group, blocks.table(head, body, group, numbers=(1, 2, 3)))
        )
    return Markup("").join(parts)


def _line(pair: Pair) -> tuple[object, ...]:
    better = {"one": "left", "other": "right", "": ""}[pair.better]
    one, other = (
        blocks.resting(text, rests) for text, rests in zip((pair.one, pair.other), pair.rests, strict=True)
    )
    return pair.name, one, other, pair.differs or "same", pair.unit, better
