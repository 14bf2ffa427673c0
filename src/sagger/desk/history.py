"""What was done: the jobs of the shop, and what each was made from."""

from __future__ import annotations

import json
from typing import Any

from sagger.desk.home import ledger
from sagger.ledger import bodies, works
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
