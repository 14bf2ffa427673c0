"""The last lines of what is told after planning: chance, number to start, price and date."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.job import Job
from sagger.goods.promised import Gain, Promised
from sagger.goods.quote import Quote
from sagger.views.pictures.palette import letter
from sagger.views.wording import moment, part_name
from sagger.views.words import line_odds, odds


def told(job: Job) -> Iterator[str]:
    """Part by part, then of the whole order."""
    yield from _promised(job)
    yield from _quote(job, job.quote)


def _promised(job: Job) -> Iterator[str]:
    """Part by part: chance of a piece, of enough of them, how many to start, and the price."""
    prices = {price.part: price for price in job.quote.prices}
    for piece in job.promised.pieces:
        name, price = f"{letter(piece.part)} {part_name(job.parts[piece.part])}", prices[piece.part]
        yield (
            f"{name}: {odds.met(piece.chance, piece.low, piece.high)}; "
            f"{odds.enough(piece.started, piece.asked, piece.enough, piece.expected)}; "
            f"{odds.start(piece.least, piece.asked, piece.sure, piece.ceiling)}; "
            f"{odds.good_price(price.price_per_piece, job.quote.currency, piece.expected)}"
        )
        surer = f"{price.price_of_sureness or 0.0:.2f} {job.quote.currency}"
        if told := odds.cheapest(price.cheapest, piece.least, surer):
            yield f"{name}: {told}"
        if piece.raised and piece.chance < piece.sure:
            yield f"{name}: {_raised(piece.raised[0])}"
        yield from line_odds.told([line for line in job.promised.lines if line.part == piece.part])


def _raised(gain: Gain) -> str:
    start = f", start {gain.least}" if gain.least is not None else ""
    name = odds.change(gain.name, gain.stock_mm)
    return f"{name}, and {odds.percent(gain.chance)} of pieces would be good{start}"


def _quote(job: Job, quote: Quote) -> Iterator[str]:
    dues = sorted({part.request.due for part in job.parts if part.request.due})
    due = f", due {', '.join(dues)}" if dues else ""
    yield f"order {quote.total:.2f} {quote.currency}, ready {moment(quote.ready)} by planned hours{due}"
    if job.promised.pieces:
        yield f"{odds.kept(job.promised.kept, job.promised.kept_twice)}; {_sure(job.promised, quote)}"


def _sure(promised: Promised, quote: Quote) -> str:
    if not quote.sure_ready:
        return odds.no_date(promised.sure)
    return f"ready by {moment(quote.sure_ready)} in {odds.of_orders(promised.sure)}"
