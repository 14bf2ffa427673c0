"""Whole runs through the command line, in a home of their own."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PARTS = ROOT.parent / "shared" / "parts"


@pytest.fixture
def shared_part():
    """A part file that nobody here drew; the test is skipped where there are none."""

    def find(name):
        if not (PARTS / name).exists():
            pytest.skip("needs the part files beside the project")
        return PARTS / name

    return find


@pytest.fixture
def example():
    """An example order, by name."""
    return lambda name: ROOT / "examples" / f"order-{name}.toml"


@pytest.fixture
def sagger(tmp_path):
    """Runs the command and gives what it printed."""
    env = os.environ | {"SAGGER_HOME": str(tmp_path / "home")}

    def call(*words, code=0, timeout=300):
        command = [sys.executable, "-m", "sagger", *map(str, words)]
        done = subprocess.run(command, capture_output=True, text=True, env=env, check=False, timeout=timeout)
        assert "Traceback" not in done.stderr, done.stderr
        assert done.returncode == code, done.stderr
        return done.stdout

    call.env = env
    return call


@pytest.fixture
def planned(sagger, tmp_path):
    """Plans something and gives the plan with the folder it lies in."""

    def call(*words):
        into = tmp_path / "out"
        sagger("plan", *words, "--into", into)
        return json.loads((into / "plan.json").read_text()), into

    return call
