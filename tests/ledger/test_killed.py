"""Whatever a process was doing when it was killed, the ledger opens, its seals hold and its mass closes."""

import os
import random
import signal
import subprocess
import sys
import time

import pytest

from sagger import ledger
from sagger.goods.lot import Lot
from sagger.ledger import entries, lots, readings

ME = lots.Mover(person="A. Person")
OPENED = "import pathlib, sys; from sagger import ledger; from sagger.ledger import lots, readings\n"
OPENED += "book = ledger.open_at(pathlib.Path(sys.argv[1]), sys.argv[2])\n"
OPENED += "me = lots.Mover(person=sys.argv[3])\n"
MOVES = OPENED + (
    "import itertools\n"
    "print('ready', flush=True)\n"
    "for n in itertools.count():\n"
    "    box, back, new = (f'{sys.argv[3]} {word} {n}' for word in ('box', 'back', 'new'))\n"
    "    lots.charge(book, box, {'L': 2.0}, me)\n"
    "    lots.recover(book, box, lots.named(back), lots.Recovered(1.5, 0.4), me)\n"
    "    lots.sieve(book, back, lots.named(new), lots.Sieved(1.4, 0.1), me)\n"
)
LOADS = OPENED + (
    "from sagger.goods.reading import Reading\n"
    "rows = [Reading(kind='length', state='green', value=0.01, u=1e-5, box='B', piece=str(n)) "
    "for n in range(200)]\n"
    "print('ready', flush=True)\n"
    "while True: readings.add(book, rows, sys.argv[3])\n"
)
TAKES = OPENED + "for n in range(25): lots.scrap(book, 'L', 1.0, me)\n"


def _started(code, where, person):
    words = [sys.executable, "-c", code, *map(str, where), person]
    return subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=os.environ)


@pytest.fixture
def powder(book):
    lots.receive(book, Lot(name="L", powder="steel-316l", origin="received"), 1000.0, ME)
    return book


@pytest.mark.slow
@pytest.mark.parametrize("code", [MOVES, LOADS], ids=["moves", "loads"])
def test_a_killed_writer_leaves_whole_entries(powder, where, code):
    wait = random.Random(7)
    for _ in range(4):
        writer = _started(code, where, f"run {wait.random():.6f}")
        assert writer.stdout.readline() == "ready\n"
        time.sleep(wait.uniform(0.02, 0.6))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        again = ledger.open_at(*where)
        sealed = entries.check(again)
        found = lots.account(again)
        assert found.gap == 0.0 and found.received == 1000.0
        assert len(readings.listed(again)) % 200 == 0
        again.engine.dispose()
    assert sealed.entries > 1


@pytest.mark.slow
def test_two_writers_at_once_lose_nothing_and_overdraw_nothing(powder, where):
    lots.scrap(powder, "L", 960.0, ME)  # 40 kg are left, both together ask for 50
    writers = [_started(TAKES, where, name) for name in ("one", "two")]
    ends = [writer.wait() for writer in writers]
    for writer in writers:
        writer.stdout.close()
    found = lots.account(powder)
    assert (found.lots, found.scrap, found.gap) == (0.0, 1000.0, 0.0)
    assert sorted(ends)[1] == 1  # the one that came too late was refused
    assert entries.check(powder).entries == 42
