"""What the ledger keeps of who planned what: jobs, versions of orders, approvals, accounts."""

from __future__ import annotations

from sagger.goods.factors import Conditions
from sagger.goods.good import Key, good

Triple = tuple[float, float, float]


@good
class JobRecord:
    """One job, as far as it is."""

    id: int
    name: str
    order_digest: str
    folder: str  # where its results lie
    state: str  # waiting, running, done, stopped (the process cannot), cancelled, failed, interrupted
    host: str
    process: int
    process_began: str
    began: str  # ISO 8601, UTC
    ended: str
    edition: str
    start: str  # when the first box can start
    message: str
    plan_digest: Key[str] | None  # of plan.json; None until it came to one
    version: int | None  # of an order that the desk keeps
    person: str  # who asked for it
    step: str  # room at work, "nest"
    doing: str
    done: int
    total: int  # 0 = not known
    stop: bool  # a person said stop
    improving: bool  # it has a good answer and looks for a better one
    enough: bool  # a person said that this will do


@good
class VersionRecord:
    """One version of an order; nothing in its folder is changed afterwards."""

    id: int
    thread: int  # id of the first version of the order
    number: int  # 1, 2, ... within the thread
    parent: int | None
    name: str
    folder: str  # order.toml and the part files it names
    changes: tuple[str, ...]  # what differs from the parent, in words
    person: str
    made: str


@good
class PlanApproval:
    """Who approved the plan of a job for printing."""

    id: int  # of the entry in the ledger
    job: int
    plan_digest: Key[str]
    person: str
    note: str
    made: str


@good
class FactorsApproval:
    """Who approved oversize factors for a powder, or for one lot of it."""

    id: int  # of the entry in the ledger
    material: str
    lot: str  # "" = for every lot
    k: Triple  # green over finished length along x, y, z
    u: Triple
    person: str
    reason: str
    approved: str
    replaces: int | None  # entry of the approval before
    conditions: Conditions | None = None  # None: nobody said; the usual ones of the cards count
    withdrawn: str = ""  # who, when and why; "" = it was not


@good
class Person:
    """Who may use the bench."""

    id: int
    name: str
    role: str  # look, plan, approve; "" = closed
    secret: str  # salt and hash of the password
    made: str
    replaces: int | None
