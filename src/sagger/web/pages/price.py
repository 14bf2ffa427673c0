"""The price of a job by parts and pieces, and what can be promised for it."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.views.standing import rest
from sagger.views.wording import digits
from sagger.web import blocks, frame
from sagger.web.pages.programmes import planned


def put_up() -> None:
    ui.page("/job/{number}/price")(_price)


def _price(number: int) -> None:
    with frame.page("Price", wide=True):
        plan = planned(number)
        if plan is None:
            return
        quote, rests = plan["quote"], rest(plan, "cost")
        total = blocks.resting(f"{quote['total']:.2f} {quote['currency']}", rests)
        frame.show(Markup("<h2>Whole order: {}</h2>").format(total))
        most = max(line["amount"] for line in quote["lines"])
        rows = [
            (line["name"], blocks.resting(f"{line['amount']:.2f}", rests), _bar(line, most), line["basis"])
            for line in sorted(quote["lines"], key=lambda line: -line["amount"])
        ]
        head = ("Part of the price", quote["currency"], "against the largest", "worked out from")
        frame.show(blocks.table(head, rows, "Parts of the price", numbers=(1,)))
        frame.show(_pieces(plan))
        frame.show(_promises(plan))


def _bar(line: dict[str, Any], most: float) -> Markup:
    """How much of the price this is, as long as that."""
    share = max(line["amount"], 0) / most if most > 0 else 0
    head = '<svg class="share" viewBox="0 0 100 1" preserveAspectRatio="none" aria-hidden="true">'
    return Markup(head + '<rect width="{:.1f}" height="1"/></svg>').format(100 * share)


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
