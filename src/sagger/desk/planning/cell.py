"""The cell of a shop: its book of orders and events, accepted plans, and what a new order would get."""

from __future__ import annotations

import math
from datetime import datetime
from pathlib import Path

from sagger.desk.home import ledger
from sagger.desk.planning import cell_plan
from sagger.desk.planning.cell_events import event
from sagger.desk.planning.cell_held import USUAL, accepted, book, card, moment, now
from sagger.desk.planning.cell_sheets import week_picture
from sagger.errors import InputError
from sagger.files.cell_orders import cell_orders
from sagger.goods.asked import (
    AskedBuild,
    AskedOrder,
    CellOffer,
    CellPlan,
    GivenPromise,
    PromiseScore,
)
from sagger.goods.planned import PlanBox, WholePlan
from sagger.goods.schedule import PlanningEffort
from sagger.goods.stand import Stand
from sagger.ledger import cellbook, jobs, plans
from sagger.ledger.cellbook import CellBook
from sagger.ledger.lots import Mover
from sagger.tick import Tick, silent

CHANCE = 0.9
__all__ = [
    "BETTER",
    "CHANCE",
    "FIRST",
    "USUAL",
    "accepted",
    "book",
    "book_job",
    "book_table",
    "card",
    "event",
    "fixed_moved",
    "now",
    "offer",
    "one_order",
    "plan",
    "promise",
    "scores",
    "week_picture",
]
FIRST = PlanningEffort(trials=4000, rounds=0, nodes=0)
BETTER = PlanningEffort()


def book_table(path: Path, step: Mover) -> str:
    """Orders of a CSV file go into the book."""
    asked = cell_orders(path)
    entry = cellbook.order(ledger(), asked, step)
    return f"entry {entry}: {len(asked)} orders, {sum(len(order.builds) for order in asked)} builds"


def book_job(job: int, due: str, weight: int, stand: str, step: Mover) -> str:
    """The order of a planned job goes into the book: its boxes with their times, as its plan has them."""
    order = of_job(job, due, weight, card(stand))
    return f"entry {cellbook.order(ledger(), [order], step)}: {order.name}, {len(order.builds)} builds"


def of_job(job: int, due: str, weight: int, stand: Stand) -> AskedOrder:
    """What a planned job asks of the cell.

    Raises
    ------
    InputError
        If the job has no plan, or cures or fires longer than its programme and family in the cell.
    """
    held = ledger()
    key = jobs.one(held, job).plan_digest
    plan = plans.plan(held, key) if key is not None else None
    if not isinstance(plan, WholePlan):
        remedy = "`sagger jobs` lists the jobs."
        raise InputError(f"job {job} came to no plan", field="job", value=job, remedy=remedy)
    _fits(plan, stand)
    named = {one.kind: one.name for one in plan.cards}
    pieces = sum(box.pieces for box in plan.boxes)
    trays = plan.sinter.load.trays if plan.sinter else 0
    return AskedOrder(
        name=f"{plan.order.name} (job {job})".replace("/", "-"),
        builds=tuple(_build(box, named, trays * box.pieces / pieces) for box in plan.boxes),
        due=moment(due),
        weight=weight,
    )


def _fits(plan: WholePlan, stand: Stand) -> None:
    powder = next(one.name for one in plan.cards if one.kind == "powder")
    asked = [("programme", stand.programmes, plan.cure.hold_h + plan.cure.cool_h)]
    if plan.sinter:
        asked.append(("family", stand.families, plan.sinter.run_h))  # type: ignore[arg-type]
    for word, kinds, hours in asked:
        fitting = [kind for kind in kinds if powder in kind.powders]
        if not fitting or fitting[0].length.value < hours * 3600:
            what = f"no {word} of {stand.name} gives {powder} its {hours:.1f} h"
            raise InputError(what, field=word, value=f"{hours:.1f} h", remedy="Mend the card of the cell.")


def _build(box: PlanBox, named: dict[str, str], trays: float) -> AskedBuild:
    return AskedBuild(
        label=str(box.number),
        powder=named["powder"],
        box=named["box"],
        print_h=box.times.build_h,
        hands_h=max(0.25, box.depowder.hands_on_h),
        shelves=math.ceil(trays - 1e-9),
    )


def promise(order: str, by: str, at: str, step: Mover) -> str:
    """A customer was told a date; no later plan moves the order beyond it without saying so."""
    held = book()
    chances = (
        {one.order: _chance(one.likely, one.in_time, by) for one in held.plan.orders} if held.plan else {}
    )
    if order not in chances:
        raise InputError("no plan has this order", field="order", value=order, remedy="Plan the cell first.")
    given_at = moment(at) if at else now()
    given = GivenPromise(order=order, by=moment(by), chance=chances[order], given=given_at)
    return f"entry {cellbook.promise(ledger(), given, step)}: {order} promised by {by}"


def _chance(likely: str, in_time: float, by: str) -> float:
    """Chance that a promise rests on: that of the plan's date if it is not before it."""
    return CHANCE if by >= likely else in_time


def plan(
    at: str, effort: PlanningEffort, step: Mover, stand: str = "", tick: Tick = silent
) -> tuple[int, CellPlan]:
    """A plan for all that is open, accepted: the number of its entry, and the plan.

    Raises
    ------
    InputError
        If there is nothing to plan.
    LedgerError
        If somebody else's plan was accepted meanwhile.
    StopError
        If something in the book never can be done.
    """
    held = book()
    made = cell_plan.planned(_now(held, at, stand), effort, CHANCE, effort.seed, tick)
    tick.say("having the plan accepted")
    return cellbook.accept(ledger(), made, held.entry, step), made


def fixed_moved(before: CellBook, made: CellPlan) -> tuple[str, ...]:
    """A sentence on each fixed build that a plan could not leave where the book before it had it."""
    rows = before.plan.builds if before.plan else ()
    return cell_plan.fixed_moved(before.fixed(), rows, made.builds)


def offer(new: AskedOrder, at: str, stand: str = "") -> CellOffer:
    """What a new order would get from the cell as it is planned; it reserves nothing."""
    held = book()
    here = _now(held, at, stand, empty=True)
    rows = held.plan.builds if held.plan else ()
    if unplanned := cell_plan.first_unplanned(here.orders, rows):
        remedy = "`sagger cell plan` takes it in."
        raise InputError("an order is in no plan yet", field="order", value=unplanned, remedy=remedy)
    ways = cell_plan.offered(here, new, CHANCE)
    return CellOffer(
        order=new.name, now=here.now, rests_on=held.entry, currency=here.stand.currency, rows=ways
    )


def one_order(path: Path) -> AskedOrder:
    """The only order of a table; `InputError` if there are more."""
    asked = cell_orders(path)
    if len(asked) != 1:
        remedy = "Ask for one at a time."
        raise InputError("an offer is for one order", file=path.name, value=len(asked), remedy=remedy)
    return asked[0]


def scores(held: CellBook | None = None) -> tuple[PromiseScore, ...]:
    """Every promise given for an order that was delivered, and whether it was met; by the book as it is now
    if none is given."""
    held = held or book()
    gone = held.delivered()
    return tuple(
        PromiseScore(
            order=given.order,
            by=given.by,
            chance=given.chance,
            given=given.given,
            delivered=gone[given.order],
            met=gone[given.order] <= given.by,
            weeks_ahead=(datetime.fromisoformat(given.by) - datetime.fromisoformat(given.given)).days // 7,
        )
        for given in held.promises
        if given.order in gone
    )


def _now(held: CellBook, at: str, stand: str, *, empty: bool = False) -> cell_plan.CellNow:
    orders = held.open_orders()
    if not orders and not empty:
        remedy = "`sagger cell book` takes orders in."
        raise InputError("the book holds no open order", field="order", remedy=remedy)
    name = stand or (held.plan.stand if held.plan else USUAL)
    rows = held.plan.builds if held.plan else ()
    return cell_plan.CellNow(card(name), orders, rows, held.since_plan(), moment(at) if at else now())
