"""Hostile files, kills, broken ledgers, full disks, many writers: `make soak`; a short one is in the suite.

`python tests/soak.py --seconds 2700 --seed 1 --files 10000 --kills 1000 --ledgers 60` prints JSON of counts.
Each kind of try gets its share of the time; what was not reached is told by its count. Other seeds try other
files. Beside a PostgreSQL (`.ci/with-postgres`) all that writes a ledger is tried on it as well.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import resource
import sys
import tempfile
import time
from pathlib import Path

from soaking import commands, disks, hostile, kills, ledgers, shop, writers

Told = dict[str, dict[str, int]]
SHARES = {
    "ledgers": 0.12,
    "disks": 0.2,
}  # of the time that is left for a kind of ledger; the rest goes to kills
GOOD = (
    *("tries", "accepted", "refused", "crash contained", "stopped at its limit of time", "writers", "kills"),
    *("too late", "committed", "given again: done", "given again: refused as done before"),
    *("not tried: no disk can be mounted here", "damaged where nothing is kept, drawn again"),
)
LEDGERS = 0.7  # of all the time; the rest, and what was not needed, goes to files


def soak(asked: argparse.Namespace) -> Told:
    """All of it, one kind after the other, each within its share of the time."""
    began, rng, told = time.monotonic(), random.Random(asked.seed), Told()
    servers = [""] + ["PostgreSQL"] * ledgers.possible()
    with tempfile.TemporaryDirectory() as name:
        for turn, server in enumerate(servers, 1):
            until = began + (LEDGERS * turn / len(servers)) * asked.seconds
            told |= _on(server, rng, asked, Path(name) / (server or "SQLite"), until)
        told["files"] = dict(hostile.hostile(rng, asked.files, began + asked.seconds))
    return told


def _on(server: str, rng: random.Random, asked: argparse.Namespace, folder: Path, until: float) -> Told:
    """All that is tried with a ledger, in a file or on a server."""
    database = f"soak_{os.getpid()}" if server else ""
    if database:
        shop.at_server(f"CREATE DATABASE {database}")
    folder.mkdir()
    made, told = commands.made(folder / "shop", database), Told()
    if fault := made.proved():
        raise SystemExit(fault)
    mark, possible = f" on {server}" if server else "", ledgers.possible()

    def share(kind: str) -> float:
        now = time.monotonic()
        return now + SHARES[kind] * max(0.0, until - now)

    told[f"writers{mark}"] = dict(writers.writers(asked.each, made))
    told[f"ledgers{mark}"] = dict(ledgers.ledgers(rng, asked.ledgers, share("ledgers"), made))
    known = kills.references(made, folder / "killed")
    told[f"disks{mark}"] = dict(disks.disks(rng, share("disks"), made, known, asked.disks))
    told[f"kills{mark}"] = dict(kills.kills(rng, -(-asked.kills // (1 + possible)), until, made, known))
    os.chdir("/")
    return told


def wrong(told: Told) -> list[str]:
    """What must be nowhere, and is."""
    endings = (": told", ": nothing in it changed", ": done all the same")
    found = []
    for kind, counts in told.items():
        for word, count in counts.items():
            fine = (
                word in GOOD
                or word.endswith(endings)
                or word.startswith(("of ", "kept "))
                or _is_told(word, counts)
            )
            if count and not fine:
                found.append(f"{kind}: {word} {count}")
    return found


def _is_told(word: str, counts: dict[str, int]) -> bool:
    """Whether a kind of damage was told or changed nothing, every time."""
    if not word.startswith(("damaged", "edited")) or ":" in word:
        return False
    return counts[word] == counts.get(f"{word}: told", 0) + counts.get(f"{word}: nothing in it changed", 0)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    usual = {
        "seconds": 2700,
        "seed": 1,
        "files": 10_000,
        "kills": 1000,
        "ledgers": 60,
        "each": 25,
        "disks": 2,
    }
    for name, number in usual.items():
        parser.add_argument(f"--{name}", type=int, default=number)
    asked = parser.parse_args()
    began, told = time.monotonic(), soak(asked)
    used = sum(resource.getrusage(who).ru_utime for who in (resource.RUSAGE_CHILDREN, resource.RUSAGE_SELF))
    found = wrong(told)
    clock = {"wrong": found, "wall_s": round(time.monotonic() - began), "cpu_s": round(used)}
    print(json.dumps(vars(asked) | told | clock, indent=1))
    return bool(found)


if __name__ == "__main__":
    sys.exit(main())
