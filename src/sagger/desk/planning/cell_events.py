"""What people say of the cell: what happened, and which builds are to stay where the plan has them."""

from __future__ import annotations

from sagger.desk.home import ledger
from sagger.desk.planning.cell_held import book, card, moment
from sagger.errors import InputError, LedgerError
from sagger.goods.asked import HAPPENINGS, CellEvent
from sagger.goods.stand import machine_names
from sagger.ledger import cellbook
from sagger.ledger.cellbook import FIXING, CellBook
from sagger.ledger.lots import Mover


def event(kind: str, subject: str, at: str, until: str, step: Mover, seen: int = 0) -> str:
    """Something happened in the cell, or a build is to stay where the plan has it.

    Parameters
    ----------
    seen : int
        Entry of the plan that the person looked at; 0 = the newest, whichever that is.

    Raises
    ------
    InputError
        If nothing of that kind happens, or the book knows no such order, build or machine.
    LedgerError
        If another plan was accepted since the person looked.
    """
    held = book()
    if kind not in HAPPENINGS:
        raise InputError(
            "nothing of this kind happens", value=kind, remedy=f"One of: {', '.join(HAPPENINGS)}."
        )
    known = subjects(held, kind)
    if subject not in known:
        remedy = f"Known: {', '.join(known[:8])}."
        raise InputError("the book knows nothing of this name", field=kind, value=subject, remedy=remedy)
    if kind == "down" and not until:
        raise InputError("a machine is down until some moment", field="until", remedy="Give --until.")
    if seen and held.entry != seen:
        raise LedgerError(f"another plan was accepted meanwhile (entry {held.entry}); look at it first")
    if kind in FIXING:
        _may_be(kind, subject, held)
    happened = CellEvent(kind=kind, subject=subject, at=moment(at), until=moment(until) if until else "")
    return f"entry {cellbook.event(ledger(), happened, step)}: {subject} {kind}"


def subjects(held: CellBook, kind: str) -> tuple[str, ...]:
    """What an event of a kind can be about: machines, orders or builds."""
    if kind == "down":
        return tuple(machine_names(card(held.plan.stand) if held.plan else card()))
    if kind == "delivered":
        return tuple(order.name for order in held.orders)
    return tuple(f"{order.name}/{one.label}" for order in held.orders for one in order.builds)


def _may_be(kind: str, subject: str, held: CellBook) -> None:
    """Refuse to fix what has no place, or to free what is not fixed."""
    fixed = subject in held.fixed()
    if kind == "freed":
        if not fixed:
            remedy = "A build that nobody fixed is free, until it begins."
            raise InputError("this build is not fixed", field=kind, value=subject, remedy=remedy)
        return
    if fixed:
        remedy = "`sagger cell event freed` frees it."
        raise InputError("this build is fixed already", field=kind, value=subject, remedy=remedy)
    rows = held.plan.builds if held.plan else ()
    scrapped = {happened.subject for happened in held.since_plan() if happened.kind == "scrapped"}
    if subject in scrapped or subject not in {f"{row.order}/{row.build}" for row in rows}:
        remedy = "Plan the cell first."
        raise InputError("this build has no place in the plan yet", field=kind, value=subject, remedy=remedy)
    if subject.rpartition("/")[0] in held.delivered():
        raise InputError(
            "this order is delivered", field=kind, value=subject, remedy="There is nothing to fix."
        )
