"""The offer for a planned order, as a paper to send: what is offered, what is promised and what is not."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.good import good
from sagger.goods.planned import WholePlan
from sagger.goods.planned_part import PlanPart
from sagger.goods.planned_quote import PiecePrice, PlanOdds, PlanPromise
from sagger.statistics.tolerance import GUARD
from sagger.views.wording import count, sizes
from sagger.views.words import addressed, delivery, odds
from sagger.views.words.letter import Letter, LetterSection

WITHIN = "orientation on setter"  # findings that are the shop's own business
SEEN_MOST = 6  # findings about parts that are told; the shop has the rest
TOLD = ("intake", "sinter", "mould", "depowder")  # steps whose findings are the customer's business
NONE = "not offered"
MEASURED = (
    "Every piece that is delivered was measured at these sizes and read inside their limits, less a guard "
    f"band of {GUARD:g} standard uncertainties of the reading."
)
SIZES = (
    "Sizes other than the overall ones: holes, walls, positions, angles, flatness. They are made as filed."
)
SINTERED = "Surface: steps of layers and the grain of sintered powder stay as they come out of the furnace."
UNFIRED = "Surface: steps of layers and the grain of the sand stay as they come out of the box."
STRENGTH = "Strength, hardness and composition, unless agreed apart and measured on coupons."


@good
class Offered:
    """A planned order, and what the offer says that the plan does not."""

    job: int
    plan: WholePlan
    digest: str  # of the plan
    made: str  # ISO date of the offer
    valid: str  # ISO date until which it holds


def letter(offered: Offered) -> Letter:
    """The offer: pieces and prices, date, sizes with their chances, and what nobody promises."""
    plan = offered.plan
    some = len(_offered(plan)) > 0
    never = (SIZES, SINTERED if plan.sinter is not None else UNFIRED, STRENGTH)
    promised = (
        LetterSection("Delivery", lines=tuple(delivery.lines(plan, _offered(plan)))),
        _promised(plan),
        LetterSection("What is not promised", lines=(*_not_asked(plan), *never, *_seen(plan))),
    )
    refused = LetterSection("What is not offered, and why", lines=tuple(_refused(plan)))
    return Letter(
        title="Offer" if some else "Answer to an inquiry",
        number=f"{offered.job}-{offered.digest[:8]}",
        sender=plan.order.shop,
        receiver=plan.order.customer,
        facts=(
            *addressed.reference(plan),
            ("date", offered.made),
            *((("valid until", offered.valid),) if some else ()),
        ),
        sections=(
            _pieces(plan),
            *((refused,) if refused.lines else ()),
            *(promised if some else (LetterSection("What was seen", lines=tuple(_seen(plan))),)),
        ),
        signed=("place and date", "for the shop", *(("accepted, for the customer",) if some else ())),
        foot=f"Order {plan.order.name}, job {offered.job}, plan {offered.digest[:12]}.",
    )


def price_of(price: PiecePrice, part: PlanPart) -> float:
    """What the pieces asked for come to at the price that is printed for one, in the plan's currency."""
    return part.quantity * round(price.price_per_piece, 2)


def _pieces(plan: WholePlan) -> LetterSection:
    """Parts, pieces and prices, with their sum."""
    rows = [_piece_row(price, plan) for price in plan.quote.prices]
    offered = _offered(plan)
    total = sum(price_of(price, plan.parts[price.part]) for price in offered)
    cards = {card.kind: card.title or card.name for card in plan.cards}
    rows.append(("all pieces that are offered", "", "", "", "", "", f"{total:.2f}" if offered else NONE))
    money = plan.quote.currency
    head = ("part", "drawing", "size, mm", "tolerance", "pieces", f"{money} a piece", money)
    drawn = any(part.drawing_number for part in plan.parts)
    columns = [column for column, name in enumerate(head) if drawn or name != "drawing"]
    return LetterSection(
        heading="What is offered" if offered else "What was asked for",
        head=tuple(head[column] for column in columns),
        rows=tuple(tuple(row[column] for column in columns) for row in rows),
        numbers=tuple(range(len(columns)))[-3:],
        strong=1,
        lines=(
            f"Material: {cards.get('powder', '')}, printed in layers{_fired(plan)}.",
            *(_terms(plan, all_parts=len(offered) == len(plan.quote.prices)) if offered else ()),
        ),
    )


def _terms(plan: WholePlan, *, all_parts: bool) -> Iterator[str]:
    yield (
        "Good pieces are delivered and charged, each at its price; others are neither. The sum is that of "
        "all pieces asked for: if fewer come out good, fewer are charged."
    )
    yield from _sizes_of_order(plan) if all_parts else ()
    yield "Without taxes, packing and freight."


def _offered(plan: WholePlan) -> list[PiecePrice]:
    """Prices of the parts that are offered."""
    return [price for price in plan.quote.prices if not _hopeless(price.part, plan)]


def _refused(plan: WholePlan) -> Iterator[str]:
    """Parts of which no number holds enough good ones, and what would change that most."""
    for piece in plan.promise.pieces if plan.promise is not None else ():
        if not _hopeless(piece.part, plan):
            continue
        first = next(iter(piece.raised), None)
        remedy = (
            f" What would change that most: {odds.change(first.name, first.stock_mm)}; then "
            f"{odds.percent(first.chance_percent / 100)} of pieces would meet them."
            if first is not None
            else ""
        )
        best = odds.percent(piece.ceiling_percent / 100)
        yield (
            f"{plan.parts[piece.part].name}: all sizes at once are {_met(piece)}, so however many are "
            f"printed, {piece.asked} good ones would come out in {best} of orders at best.{remedy}"
        )


def _hopeless(part: int, plan: WholePlan) -> bool:
    """Whether no number of pieces started holds as many good ones as asked often enough: it has no price."""
    pieces = plan.promise.pieces if plan.promise is not None else ()
    return any(piece.part == part and piece.least is None for piece in pieces)


def _sizes_of_order(plan: WholePlan) -> Iterator[str]:
    """What the order would cost at other sizes, about."""
    money = plan.quote.currency
    others = [
        f"{_quantity(one.times, plan)}, about {one.per_good:.2f} {money} a piece"
        for one in plan.quote.quantities
        if one.times != 1
    ]
    if others:
        yield f"At other quantities: {'; '.join(others)}."


def _quantity(times: float, plan: WholePlan) -> str:
    """So many times the order; of one part the pieces."""
    if len(plan.parts) == 1:
        return count(round(times * plan.parts[0].quantity), "piece")
    return f"{times:g} times the whole order"


def _piece_row(price: PiecePrice, plan: WholePlan) -> tuple[str, ...]:
    part, none = plan.parts[price.part], _hopeless(price.part, plan)
    revision = f" rev. {part.revision}" if part.revision else ""
    return (
        part.name,
        f"{part.drawing_number}{revision}",
        sizes(part.extent_mm),
        _tolerance(part),
        str(part.quantity),
        NONE if none else f"{price.price_per_piece:.2f}",
        NONE if none else f"{price_of(price, part):.2f}",
    )


def _tolerance(part: PlanPart) -> str:
    asked = part.tolerance
    if asked is None:
        return ""
    if asked.kind == "iso2768":
        return f"ISO 2768-{asked.grade}"
    return f"± {asked.plus_minus_mm:g} mm" if asked.plus_minus_mm else f"± {asked.plus_minus_percent:g} %"


def _fired(plan: WholePlan) -> str:
    if plan.sinter is None:
        return ""
    return f" and sintered; relative density expected {plan.sinter.final_relative_density_percent:.1f} %"


def _promised(plan: WholePlan) -> LetterSection:
    """Each size that is promised with its chance; how many pieces are good of those started."""
    rows = tuple(
        _size_row(promise, plan) for promise in plan.quote.promises if not _hopeless(promise.part, plan)
    )
    pieces = [
        piece
        for piece in (plan.promise.pieces if plan.promise is not None else ())
        if not _hopeless(piece.part, plan)
    ]
    return LetterSection(
        heading="What is promised",
        head=("part and size", "nominal, mm", "from, mm", "to, mm", "met by, of those printed"),
        rows=rows,
        numbers=(1, 2, 3, 4),
        lines=(*((MEASURED,) if rows else ()), *(_whole(piece, plan) for piece in pieces)),
    )


def _size_row(promise: PlanPromise, plan: WholePlan) -> tuple[str, ...]:
    return (
        f"{plan.parts[promise.part].name}, {promise.dimension}",
        f"{promise.nominal_mm:.2f}",
        f"{promise.lower_mm:.2f}",
        f"{promise.upper_mm:.2f}",
        odds.percent(promise.chance_percent / 100),
    )


def _whole(piece: PlanOdds, plan: WholePlan) -> str:
    enough = odds.enough(piece.started, piece.asked, piece.enough_percent / 100, piece.expected)
    slipped = odds.slips((piece.slipped_percent or 0.0) / 100)
    name = plan.parts[piece.part].name
    return f"{name}, all of these sizes at once: {_met(piece)}; {enough}{slipped and f'; {slipped}'}."


def _met(piece: PlanOdds) -> str:
    return odds.met(*(x / 100 for x in (piece.chance_percent, piece.low_percent, piece.high_percent)))


def short(plan: WholePlan) -> list[str]:
    """For the shop: parts whose number asked for is less sure than wanted, and what would help most."""
    pieces = plan.promise.pieces if plan.promise is not None else ()
    best = [
        f"{plan.parts[piece.part].name}: {odds.change(gain.name, gain.stock_mm)}, and "
        f"{odds.percent(gain.chance_percent / 100)} of pieces would be good"
        for piece in pieces
        if piece.enough_percent < piece.sure_percent
        for gain in piece.raised[:1]
    ]
    none = [plan.parts[price.part].name for price in plan.quote.prices if _hopeless(price.part, plan)]
    return [
        *(f"not offered: {name}, no number of pieces gives enough good ones" for name in none),
        *(f"not promised: {line}" for line in _not_asked(plan)),
        *(f"would help: {line}" for line in best),
    ]


def _not_asked(plan: WholePlan) -> Iterator[str]:
    for piece in plan.promise.pieces if plan.promise is not None else ():
        if piece.enough_percent < piece.sure_percent and not _hopeless(piece.part, plan):
            chance = odds.percent(piece.enough_percent / 100)
            yield (
                f"{plan.parts[piece.part].name}: that the first start holds the number asked for; it does in "
                f"{chance} of orders, where {odds.percent(piece.sure_percent / 100)} were wanted. "
                f"Printing {piece.least} instead of {piece.started} would reach that."
            )


def _seen(plan: WholePlan) -> Iterator[str]:
    """What was seen on the parts, in a sentence each."""
    looks = [
        finding
        for finding in plan.findings
        if finding.level == "look"
        and finding.part is not None
        and finding.station in TOLD
        and finding.what != WITHIN
    ]
    for finding in looks[:SEEN_MOST]:
        assert finding.part is not None
        yield f"{plan.parts[finding.part].name}, {finding.what}: {finding.text}"
    if len(looks) > SEEN_MOST:
        yield f"And {count(len(looks) - SEEN_MOST, 'more remark')} of this kind."
