"""All orders: what needs a decision, what runs, what is done."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import approvals, history
from sagger.views.decide import decision
from sagger.views.standing import rest
from sagger.views.wording import moment
from sagger.web import blocks, frame

EVERY_S = 1.0


def put_up() -> None:
    ui.page("/")(_page)


def _page() -> None:
    with frame.page("Orders", wide=True):
        frame.show(blocks.link("/new", "New order", "solid"))
        shown = frame.show("")

        seen: list[Any] = []

        def look() -> None:
            rows, approved = history.rows(), approvals.approvals()
            now = [[(row["id"], row["state"], row["doing"], row["done"]) for row in rows], len(approved)]
            if now != seen:
                seen[:] = now
                shown.content = str(_lists(rows, approved))

        look()
        ui.timer(EVERY_S, look)


def _lists(rows: list[dict[str, Any]], approved: dict[int, dict[str, Any]]) -> Markup:
    newest = _newest_of_each(rows)
    if not newest:
        return Markup("<p>No orders yet. Bring a part file, or an order file, and plan it.</p>")
    told = [(row, decision(row, _plan(row), approved.get(row["id"]))) for row in newest]
    groups = {
        "Needs a decision": [(row, said) for row, said in told if said.waits],
        "Under way": [(row, said) for row, said in told if row["state"] in ("waiting", "running")],
        "Approved": [(row, said) for row, said in told if row["id"] in approved],
    }
    return Markup("").join(_group(name, each, approved) for name, each in groups.items() if each)


def _plan(row: dict[str, Any]) -> dict[str, Any] | None:
    return history.plan(row["id"]) if row["plan_digest"] else None


def _group(name: str, told: list[tuple[dict[str, Any], Any]], approved: dict[int, Any]) -> Markup:
    rows = []
    for row, said in told:
        word = "approved" if row["id"] in approved else row["state"]
        doing = f"{row['doing']} {row['done']} of {row['total']}" if row["total"] else row["doing"]
        next_words = doing if row["state"] == "running" and doing else said.words
        title = blocks.link(f"/job/{row['id']}", row["name"])
        when = moment(row["ended"] or row["began"])
        rows.append((title, row["id"], blocks.state(word), next_words, *_came_to(_plan(row)), when))
    head = ("Order", "Job", "State", "Next", "Pieces", "Price", "Ready", "Last change, UTC")
    return Markup("<h2>{}</h2>{}").format(name, blocks.table(head, rows, name, numbers=(4, 5)))


def _came_to(plan: dict[str, Any] | None) -> tuple[object, object, object]:
    """Pieces, price and date, empty before there is a plan."""
    if plan is None or plan["state"] != "planned":
        return "", "", ""
    quote, rests = plan["quote"], rest(plan, "cost")
    pieces = sum(part["quantity"] for part in plan["parts"])
    price = blocks.resting(f"{quote['total']:.2f} {quote['currency']}", rests)
    return pieces, price, blocks.resting(moment(quote["ready"]), rests)


def _newest_of_each(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The newest job of each order; orders are told apart by their thread of versions, or by their folder."""
    seen: dict[Any, dict[str, Any]] = {}
    threads = history.threads()
    for row in rows:
        seen.setdefault(threads.get(row["version"], row["folder"]), row)
    return list(seen.values())
