"""What was done: the jobs of the shop, and what each was made from."""

from __future__ import annotations

import functools
import json
from pathlib import Path
from typing import NamedTuple

from sagger.desk.home import ledger
from sagger.desk.so_far import so_far
from sagger.goods.good import Key, good
from sagger.goods.plain import Table
from sagger.goods.planned import Plan
from sagger.goods.record import JobRecord, VersionRecord
from sagger.ledger import bodies, plans, versions, works
from sagger.ledger import jobs as ledger_jobs


class JobLine(NamedTuple):
    """One job as a list of jobs shows it."""

    id: int
    name: str
    state: str
    began: str
    ended: str
    folder: str
    edition: str
    start: str
    message: str


@good
class JobList:
    """All jobs, newest first."""

    schema: str = "sagger-jobs/1"
    jobs: tuple[JobLine, ...]


class WorkLine(NamedTuple):
    """A work that a job used."""

    verb: str
    edition: str
    inputs: list[str]
    output: str
    remembered: bool
    took_s: float


def jobs() -> tuple[JobList, list[str]]:
    """All jobs, newest first, as a document and as lines."""
    rows = tuple(_line(row) for row in ledger_jobs.listed(ledger()))
    lines = [f"{row.id:>4}  {row.state:<11}  {row.began}  {row.name}  {row.folder}" for row in rows]
    return JobList(jobs=rows), lines or ["no jobs yet; `sagger plan` makes one"]


def show(number: int) -> tuple[dict[str, object], list[str]]:
    """One job: its facts, the works it used, and its plan if it came to one."""
    book = ledger()
    row = ledger_jobs.one(book, number)
    used = works.of_job(book, number)
    facts = _line(row)._asdict()
    document = {
        "schema": "sagger-job/1",
        **facts,
        "works": [WorkLine(*use.work[1:], use.output, use.remembered, use.seconds) for use in used],
        "plan": json.loads(bodies.get(book, row.plan_digest)) if row.plan_digest else None,
    }
    lines = [f"{fact:<8} {value}" for fact, value in facts.items() if value != ""]
    lines += ["works (what, edition, remembered or seconds taken, result):"]
    for use in used:
        took = "remembered" if use.remembered else f"{use.seconds:.2f} s"
        lines.append(f"  {works.short(use.work.verb):<24} {use.work.edition:<4} {took:<11} {use.output[:12]}")
    return document, lines


def _line(row: JobRecord) -> JobLine:
    return JobLine(*(getattr(row, name) for name in JobLine._fields))


def facts(number: int) -> JobRecord:
    """One job as the ledger knows it, with how far it is."""
    return ledger_jobs.one(ledger(), number)


def rows() -> list[JobRecord]:
    """All jobs as the ledger knows them, newest first."""
    return ledger_jobs.listed(ledger())


def plan(number: int) -> Plan | None:
    """The plan of a job, or None while there is none."""
    key = facts(number).plan_digest
    return _plan(key, str(ledger().folder)) if key else None


def plan_text(number: int) -> str:
    """The plan of a job as plan.json holds it, "" while there is none."""
    key = facts(number).plan_digest
    return bodies.get(ledger(), key) if key else ""


def before(number: int) -> int | None:
    """The planned job to measure this one by: earlier, of the same version or else of its parent; or None."""
    version = facts(number).version
    if not version:
        return None
    planned = [row for row in rows() if row.plan_digest and row.id < number]
    for wanted in (version, versions.one(ledger(), version).parent):
        earlier = next((row.id for row in planned if row.version == wanted), None)
        if wanted and earlier:
            return earlier
    return None


def version(number: int) -> VersionRecord | None:
    """The version of an order that a job plans, or None for an order file that lies elsewhere."""
    row = facts(number)
    return versions.one(ledger(), row.version) if row.version else None


def versions_of(thread: int) -> list[VersionRecord]:
    """The versions of an order, newest first."""
    return versions.of_thread(ledger(), thread)


def folder(number: int) -> Path:
    """Where the results of a job lie."""
    return Path(facts(number).folder)


def order_tables(number: int) -> Table | None:
    """What the order file of a job says, or None if the desk does not keep it."""
    from sagger.files import order

    row = version(number)
    return order.tables(Path(row.folder) / "order.toml") if row else None


def threads() -> dict[int, int]:
    """Which order each version belongs to."""
    return versions.threads(ledger())


def nested(number: int) -> bool:
    """Whether the pieces of a job lie in their boxes already."""
    return so_far(ledger(), number).nested


@functools.lru_cache(maxsize=32)
def _plan(key: Key[str], home: str) -> Plan:
    # Kept by digest, so it cannot have changed; the folder tells one ledger from another.
    return plans.plan(ledger(), key)
