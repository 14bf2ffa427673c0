"""Approved oversize factors; a person approves new ones."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.cards import DEFAULTS
from sagger.desk import approvals, shelf
from sagger.errors import InputError, SaggerError
from sagger.views import factor_charts
from sagger.views.wording import moment
from sagger.web import blocks, frame
from sagger.web.pages import proposals


def put_up() -> None:
    ui.page("/factors")(_page)


def _page() -> None:
    with frame.page("Factors", wide=True):
        frame.show(
            "<p>An oversize factor is green length over finished length along a machine axis. The newest "
            "approval of a powder holds for every job from then on; until there is one, factors come "
            "from the powder card.</p>"
        )
        frame.show(_approved())
        frame.show(_over_time())
        proposals.build()
        frame.show("<h2>Approve factors by hand</h2>")
        _form()


def _approved() -> object:
    rows = []
    seen: set[tuple[str, str]] = set()
    for row in approvals.factors()[0]["factors"]:
        key = (row["material"], row["lot"])
        holds = "replaced" if key in seen else "in force"
        seen.add(key)
        sizes = [f"{row[f'k_{axis}']:.4f} ± {row[f'u_{axis}']:.4f}" for axis in "xyz"]
        name = row["material"] + (f", lot {row['lot']}" if row["lot"] else "")
        rows.append((row["id"], name, *sizes, holds, row["person"], moment(row["approved"]), row["reason"]))
    head = ("Entry", "Powder", "x", "y", "z", "Holds", "Approved by", "On, UTC", "From")
    return blocks.table(head, rows, "Approved factors") if rows else "<p>None is approved yet.</p>"


def _over_time() -> Markup:
    """A chart for each powder or lot whose factors were approved more than once."""
    parts = [Markup("")]
    for name, versions in factor_charts.series(approvals.factors()[0]["factors"]):
        words = blocks.items(factor_charts.words(versions))
        drawn = [
            Markup('<div class="chart" role="img" aria-label="factor along {} over time">{}</div>').format(
                axis, Markup(factor_charts.chart(versions, axis))
            )
            for axis in "xyz"
        ]
        form = '<h2>Factors over time, {}</h2><div class="charts">{}{}{}</div>{}'
        parts.append(Markup(form).format(name, *drawn, words))
    return Markup("").join(parts)


def _form() -> None:
    fields: dict[str, Any] = {}
    names = shelf.cards("powder", "")[0]["cards"]["powder"]
    with ui.element("div").classes("fields three"):
        powder = ui.select(names, value=DEFAULTS.powder, label="powder").props(frame.LOOK)
        who = frame.person()["name"] if frame.rules().accounts() else ""
        person = frame.ask("approved by", who)
        if who:
            person.props("readonly")
        reason = frame.ask("from which readings")
        for axis in "xyz":
            fields[f"k_{axis}"] = frame.ask(f"factor along {axis}, such as 1.1912")
        for axis in "xyz":
            fields[f"u_{axis}"] = frame.ask(f"its standard uncertainty along {axis}")

    def approve() -> None:
        try:
            frame.allowed("approve")
            k, u = ([_number(fields[f"{kind}_{axis}"]) for axis in "xyz"] for kind in "ku")
            said = approvals.approve(
                powder.value, (k[0], k[1], k[2]), (u[0], u[1], u[2]), person.value, reason.value
            )
            ui.navigate.to("/factors")
            frame.told(said)
        except SaggerError as error:
            frame.refused(error)

    with ui.element("div").classes("acts"):
        frame.button("Approve these factors", approve, solid=True)


def _number(field: Any) -> float:
    try:
        return float(str(field.value).replace(",", "."))
    except ValueError:
        what = "a number is needed"
        raise InputError(
            what, field=field.props["label"], value=field.value, remedy="Write 1.1912."
        ) from None
