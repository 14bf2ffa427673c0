"""Two jobs side by side: odds, time, powder, price, and by how much they differ."""

from __future__ import annotations

from nicegui import ui

from sagger.desk.planning import history
from sagger.errors import SaggerError
from sagger.goods.record import JobRecord
from sagger.web import markup, widgets
from sagger.web.base_page import page
from sagger.web.rows import compare as rows
from sagger.web.rows.compare import Side

EVERY_S = 0.5


def register() -> None:
    ui.page("/compare")(_page)


def _page(one: int, other: int) -> None:
    with page("Side by side", wide=True, legend=True):
        shown = widgets.html("")
        before: list[tuple[str, str, int]] = []

        def refresh() -> None:
            try:
                now = [history.facts(job) for job in (one, other)]
            except SaggerError as error:
                shown.content = str(markup.safe(error))
                return
            progress = [(row.state, row.step, row.done) for row in now]
            if progress != before:
                before[:] = progress
                shown.content = str(rows.page(_side(now[0]), _side(now[1])))

        refresh()
        ui.timer(EVERY_S, refresh)


def _side(row: JobRecord) -> Side:
    job = row.id
    return Side(
        row=row,
        version=history.version(job),
        tables=history.order_tables(job),
        plan=history.plan(job),
    )
