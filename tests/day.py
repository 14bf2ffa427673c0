"""A day of a shop, an hour in some seconds: jobs, pages, entries, kills; then what stayed behind is counted.

`python tests/day.py --hours 24 --seed 1` prints JSON: memory of the bench and size of its home by hour, and
what stayed behind: processes, folders in the system's temporary place, a book that does not hold.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import trimesh

from sagger.desk import home
from sagger.goods.lot import Lot
from sagger.ledger import jobs, lots
from soaking import commands

ORDER = """[order]
name = "hour {hour}"
[cards]
powder = "steel-316l"
binder = "water-glycol"
head = "head-400"
box = "box-160x65x65"
furnace = "metal-batch"
[choices]
layer = "500 um"
[[part]]
name = "block"
file = "block.stl"
unit = "mm"
quantity = {quantity}
tolerance = "0.2 mm"
"""
PAGES = ("/", "/new", "/cards", "/readings", "/charts", "/factors", "/people")
OF_A_JOB = ("/job/{}", "/job/{}/price", "/job/{}/bed", "/job/{}/programmes", "/api/job/{}/plan.json")
ENTERED = ("lots charge", "lots scrap", "lots blend", "lots sieve", "factors approve", "readings instrument")
LOOKS = 3  # at each page in an hour
TIDY_EVERY = 6  # hours
MORE_MB = 30.0  # than the largest of the hours before the last third


class Shop:
    """A bench in a process of its own, and a home and a temporary place of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.home, self.aside = folder, folder / "home", folder / "tmp"
        self.aside.mkdir()
        self.env = {key: value for key, value in os.environ.items() if not key.startswith("PYTEST")}
        self.env |= {"SAGGER_HOME": str(self.home), "TMPDIR": str(self.aside)}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        words = [sys.executable, "-m", "sagger", "serve", "--port", str(self.port)]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        self.server = subprocess.Popen(words, env=self.env, **quiet)
        while not self.seen("/cards"):
            if self.server.poll() is not None:
                raise SystemExit(f"the bench does not open: {self.server.returncode}")
            time.sleep(0.2)

    def seen(self, page: str) -> bool:
        try:
            return urllib.request.urlopen(f"http://127.0.0.1:{self.port}{page}", timeout=60).status == 200
        except OSError as error:
            if self.home.exists():
                sys.stderr.write(f"{page}: {error}\n")
            return False

    def say(self, *words: str, kill_after: float | None = None) -> int | None:
        """Exit code of a command; None if it was killed with all its children."""
        command = [sys.executable, "-m", "sagger", *words]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        child = subprocess.Popen(command, env=self.env, start_new_session=True, **quiet)
        try:
            return child.wait(kill_after)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait()
            return None

    def memory_mb(self) -> float:
        """Of the bench itself."""
        text = Path(f"/proc/{self.server.pid}/status").read_text()
        return int(text.split("VmRSS:")[1].split()[0]) / 1024

    def size_mb(self) -> float:
        return sum(path.stat().st_size for path in self.home.rglob("*") if path.is_file()) / 1e6

    def left_behind(self) -> list[str]:
        """Processes that have this home in their surroundings."""
        mine = f"SAGGER_HOME={self.home}".encode()
        found = []
        for path in Path("/proc").glob("[0-9]*"):
            try:
                if mine in (path / "environ").read_bytes():
                    found.append((path / "cmdline").read_bytes().replace(b"\0", b" ").decode()[:100])
            except OSError:
                continue
        return found


def _shelved() -> None:
    """More powder on the shelf than a day can use."""
    for name in ("L-0417", "M"):
        book = home.ledger()
        lots.receive(
            book, Lot(name=name, powder="steel-316l", origin="received"), 1e5, lots.Mover(person="A. Person")
        )
        book.engine.dispose()


def hour(shop: Shop, number: int, rng: random.Random, counts: dict[str, int]) -> None:
    """One order planned, in one of three hours killed on its way; what is entered; every page looked at."""
    folder = shop.folder / f"hour-{number}"
    folder.mkdir()
    trimesh.creation.box((20, 12, 8)).export(folder / "block.stl")
    (folder / "order.toml").write_text(ORDER.format(hour=number, quantity=1 + number % 5))
    order = ["plan", str(folder / "order.toml"), "--into", str(folder / "out")]
    if rng.random() < 1 / 3:
        counts["kills"] += shop.say(*order, kill_after=rng.uniform(0.3, 4.0)) is None
    counts["plans"] += shop.say(*order) == 0
    for saying in commands.all_of(rng.randrange(10**9)):
        if saying.name in ENTERED:
            counts["entries"] += shop.say(*saying.words) == 0
    job = rng.choice([row.id for row in jobs.listed(home.ledger()) if row.state == "done"])
    for page in (PAGES + OF_A_JOB) * LOOKS:
        counts["pages"] += shop.seen(page.format(job))
        counts["asked"] += 1
    counts["told"] = len(ENTERED) * (number + 1)


def day(hours: int, seed: int) -> dict[str, object]:
    """What a day came to."""
    rng = random.Random(seed)
    counts = dict.fromkeys(("plans", "kills", "entries", "told", "pages", "asked"), 0)
    with tempfile.TemporaryDirectory() as name:
        shop = Shop(Path(name))
        os.environ["SAGGER_HOME"] = str(shop.home)
        _shelved()
        memory, disk = [], []
        for number in range(hours):
            hour(shop, number, rng, counts)
            if number % TIDY_EVERY == TIDY_EVERY - 1:
                shop.say("ledger", "tidy", "--days", "0", "--do")
            memory.append(round(shop.memory_mb(), 1))
            disk.append(round(shop.size_mb(), 2))
        whole = shop.say("ledger", "check")
        shop.server.send_signal(signal.SIGTERM)
        ended = shop.server.wait(30)
        time.sleep(1)
        behind, aside = shop.left_behind(), [path.name for path in shop.aside.iterdir()]
    return {"hours": hours, "seed": seed, **counts, "memory_mb": memory, "disk_mb": disk, "check": whole,
            "server_ended": ended, "processes_left": behind, "folders_left": aside}  # fmt: skip


def wrong(told: dict) -> list[str]:
    """What must be nowhere, and is."""
    found = [f"{key}: {told[key]}" for key in ("processes_left", "folders_left", "check") if told[key]]
    found += [f"plans: {told['plans']} of {told['hours']}"] if told["plans"] < told["hours"] else []
    found += [f"pages: {told['pages']} of {told['asked']}"] if told["pages"] < told["asked"] else []
    found += [f"entries: {told['entries']} of {told['told']}"] if told["entries"] < told["told"] else []
    later = told["memory_mb"][2 * told["hours"] // 3 :]
    before = max(told["memory_mb"][: max(1, 2 * told["hours"] // 3)])
    return found + ([f"memory grows: {later}"] if max(later) > before + MORE_MB else [])


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    began, told = time.monotonic(), day(**vars(parser.parse_args()))
    told |= {"wrong": wrong(told), "wall_s": round(time.monotonic() - began)}
    print(json.dumps(told, indent=1))
    return bool(told["wrong"])


if __name__ == "__main__":
    sys.exit(main())
