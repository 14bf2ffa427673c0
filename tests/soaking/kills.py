"""Every writing command killed at random moments, then given again: the book is as if nothing had happened."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from soaking.commands import Saying, all_of
from soaking.shop import Shop

JOB = ("job", "use", "work", "body", "seal")  # a killed plan leaves its job behind, told as stopped
LONG = 2.0  # s
OUTSIDE = ("out/second/plan.json", "out/second/layers")  # what a plan gives, byte by byte


class Reference(NamedTuple):
    """What one command, not disturbed, makes of the shop."""

    rows: Counter[str]
    files: set[str]
    given: dict[str, bytes]
    seconds: float


def prepared(saying: Saying, shop: Shop, folder: Path) -> Shop:
    """A copy of the shop in which the command can be said."""
    copy = shop.copied(folder, f"{shop.database}_k" if shop.database else "")
    if saying.empty:
        shutil.rmtree(copy.folder / "home")
        (copy.folder / "home").mkdir()
        if copy.database:
            from soaking.shop import at_server

            at_server(f"DROP DATABASE {copy.database} WITH (FORCE)")
            at_server(f"CREATE DATABASE {copy.database}")
    return copy


def references(shop: Shop, folder: Path) -> dict[str, Reference]:
    """For every command; one that is refused ends the soak, for then nothing would be tried."""
    found = {}
    for saying in all_of():
        copy, began = prepared(saying, shop, folder), time.monotonic()
        ended = copy.say(*saying.words, typed=saying.typed)
        if ended.code:
            raise SystemExit(f"{' '.join(saying.words)}: {ended.code} {ended.said[-600:]}")
        seconds = time.monotonic() - began
        found[saying.key] = Reference(copy.rows(), copy.files(), _given(copy), seconds)
    return found


def _given(shop: Shop) -> dict[str, bytes]:
    paths = [shop.folder / name for name in OUTSIDE]
    files = [path for path in paths if path.is_file()] + [path for root in paths for path in root.glob("*")]
    return {str(path.relative_to(shop.folder)): path.read_bytes() for path in files}


def kills(
    rng: random.Random, count: int, until: float, shop: Shop, known: dict[str, Reference]
) -> Counter[str]:
    """Commands killed at random moments; the ledger is looked at, the same command given again and compared."""
    done: Counter[str] = Counter()
    folder = shop.folder.with_name("killed")
    spans = {name: reference.seconds for name, reference in known.items()}
    last = time.monotonic()
    while done["kills"] < count and time.monotonic() < until:
        sayings = [saying for saying in all_of(rng.randrange(10**6)) if _drawn(rng, known[saying.key])]
        rng.shuffle(sayings)
        for saying in sayings:
            if done["kills"] >= count or time.monotonic() > until:
                break
            copy = prepared(saying, shop, folder)
            if _killed(rng, copy, saying, spans):
                done["kills"] += 1
                done[f"of {saying.name}"] += 1
                done.update(_looked_at(copy, saying, known[saying.key], shop.rows()))
            else:
                done["too late"] += 1
        if time.monotonic() - last > 60:
            sys.stderr.write(f"{done['kills']} kills\n")
            last = time.monotonic()
    return done


def _drawn(rng: random.Random, known: Reference) -> bool:
    """Whether a command has its turn in a round: what takes seconds has one in five."""
    return known.seconds < LONG or rng.random() < 0.2


def _killed(rng: random.Random, copy: Shop, saying: Saying, spans: dict[str, float]) -> bool:
    """Whether the command was still at work when it was to be killed."""
    span, began = spans[saying.key], time.monotonic()
    child = copy.started(saying.words, saying.typed)
    _wait(rng, span, copy.folder / "home" / "ledger.sqlite-wal", lambda: _over(child))
    over = _over(child)
    if not over:
        os.kill(child, signal.SIGKILL)
    code = copy.ended(child).code
    if code != -signal.SIGKILL:
        spans[saying.key] = max(0.02, min(span, time.monotonic() - began))
        return False
    spans[saying.key] = min(10.0, span * 1.1)
    _alone(copy)
    return True


def _looked_at(copy: Shop, saying: Saying, known: Reference, before: Counter[str]) -> Counter[str]:
    """What is wrong after a kill, and after the same command was given again."""
    told: Counter[str] = Counter()
    if not saying.empty and (fault := copy.proved()):
        told["lost or torn"] += 1
        sys.stderr.write(f"{saying.name}, killed: {fault}\n")
    told["committed"] += not saying.empty and copy.rows() != before
    again = copy.say(*saying.words, typed=saying.typed)
    rows, plans = copy.rows(), saying.name == "plan"
    twice = sorted(
        name for name, number in rows.items() if number > known.rows[name] and not (plans and name in JOB)
    )
    fewer = sorted(
        name for name, number in known.rows.items() if number > rows[name] and not (plans and name in JOB)
    )
    checks = {
        "booked twice": twice,
        "not booked when given again": fewer,
        "other files than without a kill": sorted(copy.files() ^ known.files) if not plans else [],
        "other results than without a kill": [name for name, was in known.given.items() if _given(copy).get(name) != was],
        "not whole when given again": copy.proved(),
        again.wrong: again.wrong and again.said[-300:],
        "left aside": [path.name for path in copy.folder.rglob("*.part")],
        "refused when given again, and not booked": again.code if again.code and fewer else 0,
    }  # fmt: skip
    for name, fault in checks.items():
        if fault:
            told[name] += 1
            sys.stderr.write(
                f"{' '.join(saying.words)}: {name}: {fault} ({again.code}: {again.said[-200:]})\n"
            )
    told["given again: done"] += again.code == 0
    told["given again: refused as done before"] += again.code != 0
    return told


def _wait(rng: random.Random, span: float, journal: Path, over: Callable[[], bool]) -> None:
    """Any moment of a command, or, every other time, just when it writes."""
    if rng.random() < 0.5 or not journal.parent.exists():
        time.sleep(rng.random() * span)
        return
    before, until = _size(journal), time.monotonic() + 10
    while _size(journal) == before and time.monotonic() < until and not over():
        time.sleep(2e-4)
    time.sleep(rng.random() * rng.choice((4e-3, 4e-2)))


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def _over(child: int) -> bool:
    """Whether a child has ended; its status is left to be asked for."""
    return os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


def _alone(shop: Shop) -> None:
    """Wait until what a killed command had started is gone too: it has to see for itself that nobody waits for it."""
    mine, until = f"SAGGER_HOME={shop.folder / 'home'}".encode(), time.monotonic() + 20
    while left := [path.parent.name for path in Path("/proc").glob("[0-9]*/environ") if _holds(path, mine)]:
        if time.monotonic() > until:
            raise SystemExit(f"processes {left} of a killed command are still at work after 20 s")
        time.sleep(0.05)


def _holds(path: Path, mine: bytes) -> bool:
    try:
        return mine in path.read_bytes().split(b"\0") and path.parent.name != str(os.getpid())
    except OSError:
        return False
