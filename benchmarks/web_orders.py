"""A thousand orders in the ledger: how soon the list of them opens, and what it costs the server.

Each has a plan of its own of about a hundred kilobytes, planned here once and then told apart by its name.
"""

from __future__ import annotations

import json
import os
import threading
import time
import urllib.request
from pathlib import Path

import numpy as np

from sagger.desk.home import ledger
from sagger.desk.planning import overview
from sagger.ledger import bodies, jobs, plans, versions

COUNT = 1000
BESIDE = 300  # small requests while the list is open and a job counts
TICK = os.sysconf("SC_CLK_TCK")


def filled(plan: dict, count: int = COUNT) -> int:
    """`count` orders that came to plans which differ, and a job that counts; its number."""
    book = ledger()
    for number in range(count):
        name = f"order {number:04d}"
        named = plan | {"order": plan["order"] | {"name": name, "customer": f"customer {number % 40}"}}
        version = versions.add(book, name, book.folder / "orders" / str(number), "Ann")
        job = jobs.ask(book, name, f"out/{number}", version, "Ann")
        jobs.take(book, job)
        kept = bodies.put(book, json.dumps(named))
        overview.keep(book, kept, plans.plan(book, kept))
        jobs.end(book, job, "done", plan_digest=kept)
    counting = jobs.ask(book, "counting", "out/counting", version, "Ann")
    jobs.take(book, counting)
    return counting


def watched(page, url: str, server: int, counting: int) -> dict[str, float]:
    """What a browser finds on the list, and what the server spends on it.

    Parameters
    ----------
    page
        Of Playwright.
    server : int
        Process of the bench.
    counting : int
        Job that says every second how far it is.
    """
    began = time.perf_counter()
    page.goto(url, wait_until="commit")
    page.wait_for_selector("table tbody tr", timeout=60_000)
    opened = time.perf_counter() - began
    page.wait_for_timeout(3000)
    over = threading.Event()
    counter = threading.Thread(target=_count, args=(counting, over))
    counter.start()
    spent, began = _processor(server), time.perf_counter()
    time.sleep(10)
    each = (_processor(server) - spent) / (time.perf_counter() - began)  # one refresh a second
    waits = [_asked(f"{url}/api/job/1") for _ in range(BESIDE)]
    over.set()
    counter.join()
    return {
        "orders_1000_open_s": opened,
        "orders_1000_cpu_ms": 1000 * each,
        "api_beside_ms": 1000 * float(np.quantile(waits, 0.99)),
    }


def _count(job: int, over: threading.Event) -> None:
    book, done = ledger(), 0
    while not over.wait(1.0):
        done += 1
        jobs.tell(book, job, doing="drawing layers", done=done, total=10_000)


def _processor(process: int) -> float:
    """Seconds of processor time that a process and its threads have had."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICK


def _asked(address: str) -> float:
    began = time.perf_counter()
    urllib.request.urlopen(address, timeout=60).read()
    return time.perf_counter() - began
