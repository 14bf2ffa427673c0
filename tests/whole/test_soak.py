"""`make soak` in short, with a fixed seed: hostile files, kills, damaged and edited ledgers, writers."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

SOAK = Path(__file__).parents[1] / "soak.py"
DAY = SOAK.with_name("day.py")


@pytest.mark.slow
def test_nothing_breaks_in_a_short_soak(tmp_path):
    """No traceback, no library's word, no hang, no wrong volume; nothing lost or booked twice; all told."""
    few = ("--seed=11", "--seconds=240", "--files=102", "--kills=3", "--ledgers=3", "--each=1")
    done = subprocess.run(
        [sys.executable, str(SOAK), *few],
        env=os.environ | {"TMPDIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    told = json.loads(done.stdout)
    assert told["wrong"] == [], done.stderr[-2000:]
    assert 34 <= told["files"]["tries"] <= 102  # each kind has a share of the seconds, on any machine
    assert told["kills"]["kills"] >= 1 and told["writers"]["writers"] == 12
    assert told["ledgers"]["edited: told"] == told["ledgers"]["edited"] > 0
    assert [path.name for path in tmp_path.iterdir() if path.is_dir()] == []  # no folder is left there


@pytest.mark.slow
def test_an_hour_of_a_shop_leaves_nothing_behind(tmp_path):
    """`make day` in short: all is booked, every page answers, no process and no folder stays."""
    done = subprocess.run(
        [sys.executable, str(DAY), "--hours=1", "--seed=7"],
        env=os.environ | {"TMPDIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    told = json.loads(done.stdout)
    assert told["wrong"] == [], done.stderr[-2000:]
    assert (told["plans"], told["entries"], told["pages"]) == (1, 7, told["asked"])
    assert list(tmp_path.iterdir()) == []
