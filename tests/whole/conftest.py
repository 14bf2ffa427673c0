"""Whole runs through the command line, in a home of their own."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile

ROOT = Path(__file__).parents[2]
NOTING = ROOT / "tests" / "noting.py"
PARTS = ROOT.parent / "shared" / "parts"


class Shop:
    """A shop with a ledger of its own, spoken to through the command line."""

    def __init__(self, folder):
        self.folder = folder
        self.env = os.environ | {"SAGGER_HOME": str(folder / "home")}

    def command(self, *words, noted=None):
        program = [NOTING, noted] if noted else ["-m", "sagger"]
        return [sys.executable, *map(str, program), *map(str, words)]

    def say(self, *words, code=(0,), timeout=300, noted=None):
        done = subprocess.run(
            self.command(*words, noted=noted),
            capture_output=True,
            text=True,
            env=self.env,
            check=False,
            timeout=timeout,
        )
        assert "Traceback" not in done.stderr, done.stderr
        assert done.returncode in ((code,) if isinstance(code, int) else code), done.stderr
        return done.stdout

    def plan(self, *words, into="out", noted=None):
        """Plan; `noted` is a file in which is written then which kernels were called."""
        self.say("plan", *words, "--into", self.folder / into, noted=noted)
        return json.loads((self.folder / into / "plan.json").read_text()), self.folder / into


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


@pytest.fixture(scope="module")
def one_shop(tmp_path_factory):
    return Shop(tmp_path_factory.mktemp("shop"))


@pytest.fixture(scope="session")
def example():
    """An example order, by name."""
    return lambda name: ROOT / "examples" / f"order-{name}.toml"


@pytest.fixture(scope="session")
def shared_part():
    """A part file that nobody here drew; the test is skipped where there are none."""

    def find(name):
        if not (PARTS / name).exists():
            pytest.skip("needs the part files beside the project")
        return PARTS / name

    return find


@pytest.fixture(scope="session")
def black_mm3():
    """Black area times layer height of every box of a plan, read by a general TIFF reader."""

    def total(plan, into):
        black = 0.0
        for box in plan["boxes"]:
            folder = into if box["number"] == 1 else into / f"box-{box['number']}"
            files = sorted((folder / "layers").glob("*.tif"))
            assert len(files) == box["layers"]["count"]
            drops = sum(int(np.count_nonzero(tifffile.imread(path))) for path in files)
            x_um, y_um = box["layers"]["pitch_um"]
            black += drops * x_um * y_um * box["layers"]["thickness_um"] / 1e9
        return black

    return total


@pytest.fixture(scope="session")
def expected_mm3():
    """Mesh volume times oversize of every piece of a plan."""

    def total(plan):
        volume = {part["index"]: part["volume_mm3"] for part in plan["parts"]}
        return sum(volume[piece["part"]] for piece in plan["pieces"]) * float(np.prod(plan["factors"]["k"]))

    return total
