"""Every writing command on a disk that is full or may only be read: a sentence, nothing lost, and done once there is room.

The disk is one of the memory's, a few kilobytes larger than what lies on it; only root may mount it.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from soaking.commands import all_of
from soaking.kills import JOB, Reference, prepared
from soaking.shop import Ended, Shop

SLACK = (0, 4, 8, 16, 32, 64, 200)  # kB that are left


def disks(
    rng: random.Random, until: float, shop: Shop, known: dict[str, Reference], rounds: int
) -> Counter[str]:
    """All commands, `rounds` times on a full disk and once on one that may only be read."""
    done: Counter[str] = Counter()
    small = shop.folder.with_name("small")
    small.mkdir(exist_ok=True)
    if not _mounted(small, "size=512m"):
        done["not tried: no disk can be mounted here"] = 1
        return done
    _unmounted(small)
    for way in ["full"] * rounds + ["read-only"]:
        for saying in all_of(rng.randrange(10**6)):
            if time.monotonic() > until or saying.empty:
                continue
            with _disk(small):
                copy = prepared(saying, shop, small / "shop")
                _made(
                    small,
                    "remount,ro"
                    if way == "read-only"
                    else f"remount,size={_used(small) + rng.choice(SLACK)}k",
                )
                ended = copy.say(*saying.words, typed=saying.typed)
                _made(small, "remount,rw,size=512m")
                done[f"{way}: {'done all the same' if not ended.code else 'told'}"] += 1
                for fault in _faults(way, ended, copy, saying.words, known[saying.key]):
                    done[fault] += 1
    return done


def _faults(way: str, ended: Ended, copy: Shop, words: tuple[str, ...], known: Reference) -> list[str]:
    """What is wrong with what was said, with the ledger then, and with the same command once there is room."""
    faults = []
    meant = {"full": ("full", "no room", "no space"), "read-only": ("written", "write")}[way]
    if ended.wrong:
        faults.append(ended.wrong)
    if ended.code not in (0, 2, 4) or (ended.code and not any(word in ended.said.lower() for word in meant)):
        faults.append(f"{way}: not said what it is")
    if copy.proved():
        faults.append("lost or torn")
    again = copy.say(*words) if words[:2] != ("people", "add") else None
    rows = copy.rows()
    if again is not None and any(
        rows[name] != number for name, number in known.rows.items() if name not in JOB
    ):
        faults.append("not as it should be once there is room")
    if left := [path.name for path in copy.folder.rglob("*.part")]:
        faults.append("left aside")
    for fault in faults:
        sys.stderr.write(f"{' '.join(words)}, {way}: {fault}: {ended.code} {ended.said[-400:]} {left}"
                         f" {again.said[-200:] if again else ''}\n")  # fmt: skip
    return faults


@contextlib.contextmanager
def _disk(at: Path) -> Iterator[None]:
    _mounted(at, "size=512m")
    try:
        yield
    finally:
        os.chdir("/")
        _unmounted(at)


def _mounted(at: Path, options: str) -> bool:
    words = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(at)]
    return (
        bool(shutil.which("mount"))
        and subprocess.run(words, capture_output=True, check=False).returncode == 0
    )


def _made(at: Path, options: str) -> None:
    subprocess.run(["mount", "-o", options, str(at)], check=True, capture_output=True)


def _unmounted(at: Path) -> None:
    subprocess.run(["umount", "-l", str(at)], check=True, capture_output=True)


def _used(at: Path) -> int:
    """Kilobytes."""
    stat = os.statvfs(at)
    return (stat.f_blocks - stat.f_bfree) * stat.f_frsize // 1024
