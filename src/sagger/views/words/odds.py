"""Chances in words: of a size, of a piece, of enough pieces. Shares between 0 and 1."""

from __future__ import annotations

SURE, HARDLY = 0.9995, 0.0005  # beyond these a chance is told as over or under what digits show
FINE = (0.01, 0.99)  # outside these one digit more is told, so that no chance is rounded to 0 or 100 %


def percent(chance: float) -> str:
    """A chance, never rounded to certainty."""
    if chance >= SURE:
        return "over 99.9 %"
    if chance < HARDLY:
        return "under 0.1 %"
    return f"{100 * chance:.0f} %" if FINE[0] <= chance < FINE[1] else f"{100 * chance:.1f} %"


def of_orders(chance: float) -> str:
    """A chance as so many of a hundred or a thousand orders."""
    hundred = 100 * chance
    if abs(hundred - round(hundred)) < 1e-6:
        return f"{hundred:.0f} of 100 orders"
    return f"{1000 * chance:.0f} of 1000 orders"


def met(chance: float, low: float, high: float) -> str:
    """How many pieces come out good, and how far lots differ in that."""
    told = f"met by {percent(chance)} of pieces"
    ends = percent(low), percent(high)
    return told if ends[0] == ends[1] else f"{told} (lots differ: {_between(*ends)})"


def _between(low: str, high: str) -> str:
    """Two chances with one sign of percent where both are plain."""
    plain = not (low.startswith(("over", "under")) or high.startswith(("over", "under")))
    return f"{low.removesuffix(' %')} to {high}" if plain else f"{low} to {high}"


def start(least: int | None, asked: int, sure: float, ceiling: float) -> str:
    """How many to start."""
    wanted = f"{asked} good in {of_orders(sure)}"
    if least is None:
        return f"no number gives {wanted}: {percent(ceiling)} of orders at best"
    return f"start {least} for {wanted}"


def good_price(amount: float, currency: str, expected: float) -> str:
    """What one good piece costs; nothing where hardly one is expected, for the quotient says nothing then."""
    if expected < 1:
        return "hardly one good piece is expected, so none has a price"
    return f"{amount:.2f} {currency} per good piece"


def change(name: str, stock_mm: float | None) -> str:
    """What would raise a chance; how much to leave on a face that is cut."""
    return name if stock_mm is None else f"{name} ({stock_mm:.2f} mm left on it)"


def slips(share: float) -> str:
    """Pieces that pass although a size is outside; "" where there are hardly any."""
    return (
        f"{percent(share)} of those that pass the bench are outside all the same, as readings are unsure"
        if share >= HARDLY
        else ""
    )


def enough(started: int, asked: int, chance: float, expected: float) -> str:
    """What those started come to."""
    return (
        f"{started} started hold {asked} good ones in {percent(chance)} of orders, {expected:.1f} on average"
    )


def kept(once: float, twice: float | None) -> str:
    """Orders of which every part has enough good pieces, after one start and after two."""
    again = ""
    if twice is not None and percent(twice) != percent(once):
        again = f", in {percent(twice)} after a second start for those missing"
    return f"every part has as many good pieces as asked in {percent(once)} of orders{again}"


def no_date(sure: float) -> str:
    """Where even a second start leaves too many orders short."""
    return f"no date holds in {of_orders(sure)}, even with a second start"


def cheapest(number: int | None, least: int | None, price: str) -> str:
    """What being as sure as asked costs beyond the cheapest number; "" where there is nothing to tell."""
    if number is None or least is None or number >= least:
        return ""
    return f"cheapest with a second start for what is missing: {number}; from there to {least} costs {price}"
