"""The price of a job by parts and pieces, and what can be promised for it."""

from __future__ import annotations

from markupsafe import Markup

from sagger.goods.planned import WholePlan
from sagger.goods.planned_quote import PiecePrice, PlanOdds, PlanPromise, PlanQuote
from sagger.views.wording import digits
from sagger.views.words import delivery, line_odds, odds
from sagger.views.words.standing import Rest, rest
from sagger.web import markup

SHARES = 3  # reasons of doubt told for each size, the largest
_BAR = (
    '<svg class="share" viewBox="0 0 100 1" preserveAspectRatio="none" aria-hidden="true">'
    '<rect width="{:.1f}" height="1"/></svg>'
)


def page(plan: WholePlan) -> Markup:
    """Everything the page says of a plan."""
    quote, rests = plan.quote, rest(plan, "cost")
    total = markup.resting(f"{quote.total:.2f} {quote.currency}", rests)
    head = ("Part of the price", quote.currency, "against the largest", "worked out from")
    lines = markup.table(head, price_rows(quote, rests), "Parts of the price", numbers=(1,))
    return Markup("<h2>Whole order: {}</h2>{}{}{}{}{}").format(
        total, lines, _pieces(plan), _sizes(plan), _whole(plan), _promises(plan)
    )


def price_rows(quote: PlanQuote, rests: Rest) -> list[tuple[object, ...]]:
    """Name, amount, a bar as long as its share of the largest, and basis of each part, the largest first."""
    lines = sorted(quote.lines, key=lambda line: -line.amount)
    most = lines[0].amount
    return [
        (
            line.name,
            markup.resting(f"{line.amount:.2f}", rests),
            bar(line.amount, most),
            line.basis,
        )
        for line in lines
    ]


def bar(amount: float, most: float) -> Markup:
    """How much of the largest part this is, as long as that."""
    return Markup(_BAR).format(100 * max(amount, 0) / most if most > 0 else 0)


def piece_row(price: PiecePrice, plan: WholePlan) -> tuple[object, ...]:
    """A part: its name, pieces asked for, started, expected good; price of one delivered, and its spread."""
    part = plan.parts[price.part]
    expected = price.good_pieces if price.expected is None else price.expected
    amount = f"{price.price_per_piece:.2f}" if expected >= 1 else "none"
    single = markup.resting(amount, rest(plan, "cost"))
    asked, started = price.asked or part.quantity, price.started or part.quantity
    high = "no good piece" if price.price_high is None else f"{price.price_high:.2f}"
    spread = f"{price.price_low:.2f} to {high}" if price.price_low else ""
    return part.name, asked, started, f"{expected:.1f}", single, spread


def odds_row(piece: PlanOdds, plan: WholePlan) -> tuple[object, ...]:
    """A part: how many pieces are good, whether those started are enough, how many to start, what helps."""
    chance, low, high = (x / 100 for x in (piece.chance_percent, piece.low_percent, piece.high_percent))
    sure, ceiling = piece.sure_percent / 100, piece.ceiling_percent / 100
    gains = (
        f"{odds.change(gain.name, gain.stock_mm)}: {odds.percent(gain.chance_percent / 100)}"
        for gain in piece.raised[:SHARES]
    )
    price = next(price for price in plan.quote.prices if price.part == piece.part)
    surer = f"{price.price_of_sureness or 0.0:.2f} {plan.quote.currency}"
    start = odds.start(piece.least, piece.asked, sure, ceiling)
    return (
        plan.parts[piece.part].name,
        markup.resting(odds.met(chance, low, high), rest(plan, "shrink")),
        odds.percent(piece.passed_percent / 100),
        odds.enough(piece.started, piece.asked, piece.enough_percent / 100, piece.expected),
        "; ".join(filter(None, (start, odds.cheapest(price.cheapest, piece.least, surer)))),
        "; ".join(gains) or "nothing that was tried",
    )


def promise_row(promise: PlanPromise, plan: WholePlan) -> tuple[object, ...]:
    """A size: nominal and allowed, its uncertainty, the chance that it is met, and where doubt comes from."""
    rests = rest(plan, "shrink")
    doubts = (f"{share.name} {share.percent:.0f} %" for share in promise.shares[:SHARES])
    return (
        f"{plan.parts[promise.part].name}, {promise.dimension}",
        f"{promise.nominal_mm:.2f}",
        f"{promise.lower_mm:.2f} to {promise.upper_mm:.2f}",
        markup.resting(f"± {digits(promise.u_mm, 2)}", rests),
        markup.resting(f"{promise.chance_percent:.1f} %", rests),
        ", ".join(doubts),
    )


def _pieces(plan: WholePlan) -> Markup:
    rows = [piece_row(price, plan) for price in plan.quote.prices]
    single = f"{plan.quote.currency} a good piece"
    head = ("Part", "asked", "started", "good ones expected", single, "nine of ten orders")
    table = markup.table(head, rows, "Price by piece", numbers=(1, 2, 3, 4, 5))
    return Markup("<h2>By piece</h2>{}").format(table)


def _sizes(plan: WholePlan) -> Markup:
    """The order at other sizes."""
    quote, rests = plan.quote, rest(plan, "cost")
    if not quote.quantities:
        return Markup("")
    rows = [
        (f"{size.times:g} ×", markup.resting(f"{size.total:.0f}", rests), f"{size.per_good:.2f}")
        for size in quote.quantities
    ]
    head = ("Quantities of the order", f"about, {quote.currency}", "a good piece")
    table = markup.table(head, rows, "Other quantities", numbers=(1, 2))
    return Markup("<h2>Other quantities</h2>{}").format(table)


def _whole(plan: WholePlan) -> Markup:
    """Whole pieces, and enough of them; nothing for plans of earlier editions."""
    if plan.promise is None:
        return Markup("")
    rows = [odds_row(piece, plan) for piece in plan.promise.pieces]
    head = ("Part", "whole piece", "passes our bench", "as started", "to be sure", "would raise it")
    table = markup.table(head, rows, "Whole pieces", numbers=())
    words = " ".join(delivery.lines(plan, plan.quote.prices))
    return Markup("<h2>Whole pieces</h2><p>{}</p>{}").format(words, table)


def _promises(plan: WholePlan) -> Markup:
    rows = [promise_row(promise, plan) for promise in plan.quote.promises]
    head = ("Size", "nominal, mm", "allowed, mm", "uncertainty, mm", "chance inside", "doubt comes from")
    table = markup.table(head, rows, "What can be promised", numbers=(1, 3, 4))
    return Markup("<h2>What can be promised</h2>{}{}").format(table, _lines(plan))


def _lines(plan: WholePlan) -> Markup:
    """Lines of the drawings, those met least first; nothing where no drawing asks for anything."""
    lines = plan.promise.lines if plan.promise is not None else ()
    if not lines:
        return Markup("")
    worst = sorted(lines, key=lambda line: line.chance_percent)
    rows = [(plan.parts[line.part].name, *line_odds.row(line)) for line in worst]
    table = markup.table(("Part", *line_odds.HEAD), rows, "Lines of the drawing", numbers=())
    return Markup("<h2>Lines of the drawing</h2>{}").format(table)
