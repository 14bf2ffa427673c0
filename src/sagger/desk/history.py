"""What was done: the jobs of the shop, and what each was made from."""

from __future__ import annotations

import functools
import json
from pathlib import Path
from typing import Any

from sagger.desk.home import ledger
from sagger.ledger import bodies, versions, works
from sagger.ledger import jobs as ledger_jobs

FACTS = ("id", "name", "state", "began", "ended", "folder", "edition", "start", "message")


def jobs() -> tuple[dict[str, Any], list[str]]:
    """All jobs, newest first, as a document and as lines."""
    rows = [{fact: row[fact] for fact in FACTS} for row in ledger_jobs.listed(ledger())]
    lines = [
        f"{row['id']:>4}  {row['state']:<11}  {row['began']}  {row['name']}  {row['folder']}" for row in rows
    ]
    document = {"schema": "sagger-jobs/1", "jobs": rows}
    return document, lines or ["no jobs yet; `sagger plan` makes one"]


def show(number: int) -> tuple[dict[str, Any], list[str]]:
    """One job: its facts, the works it used, and its plan if it came to one."""
    book = ledger()
    row = ledger_jobs.one(book, number)
    used = works.of_job(book, number)
    document = {
        "schema": "sagger-job/1",
        **{fact: row[fact] for fact in FACTS},
        "works": [
            {
                "verb": work["verb"],
                "edition": work["edition"],
                "inputs": json.loads(work["inputs"]),
                "output": work["output"],
                "remembered": bool(work["remembered"]),
                "took_s": work["seconds"],
            }
            for work in used
        ],
        "plan": json.loads(bodies.get(book, row["plan_digest"])) if row["plan_digest"] else None,
    }
    lines = [f"{fact:<8} {row[fact]}" for fact in FACTS if row[fact] != ""]
    lines += ["works (what, edition, remembered or seconds taken, result):"]
    for work in used:
        took = "remembered" if work["remembered"] else f"{work['seconds']:.2f} s"
        name = work["verb"].removeprefix("sagger.stations.")
        lines.append(f"  {name:<24} {work['edition']:<4} {took:<11} {work['output'][:12]}")
    return document, lines


def facts(number: int) -> dict[str, Any]:
    """One job as the ledger knows it: its row, with how far it is."""
    return ledger_jobs.one(ledger(), number)


def rows() -> list[dict[str, Any]]:
    """All jobs as the ledger knows them, newest first."""
    return ledger_jobs.listed(ledger())


def plan(number: int) -> dict[str, Any] | None:
    """The plan of a job as plan.json holds it, or None while there is none."""
    name = facts(number)["plan_digest"]
    return _plan(name, str(ledger().folder)) if name else None


def before(number: int) -> int | None:
    """The planned job to measure this one by: earlier, of the same version or else of its parent; or None."""
    version = facts(number)["version"]
    if not version:
        return None
    planned = [row for row in rows() if row["plan_digest"] and row["id"] < number]
    for each in (version, versions.one(ledger(), version)["parent"]):
        found = next((int(row["id"]) for row in planned if row["version"] == each), None)
        if each and found:
            return found
    return None


def version(number: int) -> dict[str, Any] | None:
    """The version of an order that a job plans, or None for an order file that lies elsewhere."""
    row = facts(number)
    return versions.one(ledger(), row["version"]) if row["version"] else None


def versions_of(thread: int) -> list[dict[str, Any]]:
    """The versions of an order, newest first."""
    return versions.of_thread(ledger(), thread)


def folder(number: int) -> Path:
    """Where the results of a job lie."""
    return Path(facts(number)["folder"])


def order_tables(number: int) -> dict[str, Any] | None:
    """What the order file of a job says, or None if the desk does not keep it."""
    from sagger.files import order

    row = version(number)
    return order.tables(Path(row["folder"]) / "order.toml") if row else None


def threads() -> dict[int, int]:
    """Which order each version belongs to."""
    return versions.threads(ledger())


def verbs(number: int) -> list[str]:
    """Verbs of the works that a job has used so far."""
    return [work["verb"] for work in works.of_job(ledger(), number)]


@functools.lru_cache(maxsize=32)
def _plan(name: str, home: str) -> dict[str, Any]:
    # Kept by digest, so it cannot have changed; the folder tells one ledger from another.
    document: dict[str, Any] = json.loads(bodies.get(ledger(), name))
    return document
