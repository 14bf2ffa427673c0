"""`make soak` and `make day` in short, with fixed seeds: hostile files, kills, damaged ledgers, writers."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
pytestmark = pytest.mark.slow


def told(script, folder, *words):
    """What a script prints, if it found nothing wrong and left no folder in the temporary place."""
    command = [sys.executable, str(TESTS / script), *words]
    surroundings = os.environ | {"TMPDIR": str(folder)}
    done = subprocess.run(command, env=surroundings, capture_output=True, text=True, check=False)
    printed = json.loads(done.stdout)
    assert printed["wrong"] == [], done.stderr[-2000:]
    assert [path.name for path in folder.iterdir() if path.is_dir()] == []
    return printed


def test_nothing_breaks_in_a_short_soak(tmp_path):
    """No traceback, no library's word, no hang, no wrong volume; nothing lost or booked twice; all told."""
    few = ("--seed=11", "--seconds=240", "--files=102", "--kills=3", "--ledgers=3", "--each=1")
    soaked = told("soak.py", tmp_path, *few)
    assert 34 <= soaked["files"]["tries"] <= 102  # each kind has a share of the seconds, on any machine
    assert soaked["kills"]["kills"] >= 1 and soaked["writers"]["writers"] == 12
    assert soaked["ledgers"]["edited: told"] == soaked["ledgers"]["edited"] > 0


def test_an_hour_of_a_shop_leaves_nothing_behind(tmp_path):
    """All is booked, every page answers, no process and no folder stays."""
    hour = told("day.py", tmp_path, "--hours=1", "--seed=7")
    assert (hour["plans"], hour["entries"], hour["pages"]) == (1, 7, hour["asked"])
