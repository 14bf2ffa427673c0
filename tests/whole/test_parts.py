"""Bare part files that nobody here drew, planned with default cards."""

import json
import subprocess

import numpy as np
import pytest

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("nist_ctc_01_asme1_ap242-e1.stp", ["--scale", "0.1"]),
        ("featuretype.STL", ["--unit", "in", "--scale", "0.5", "--quantity", "2"]),
    ],
)
def test_a_part_is_carried_to_layers_and_traveller(shop, shared_part, name, words, black_mm3, expected_mm3):
    plan, into = shop.plan(shared_part(name), *words)
    np.testing.assert_allclose(black_mm3(plan, into), expected_mm3(plan), rtol=2e-3)
    assert (into / "traveller.pdf").read_bytes().startswith(b"%PDF")


def test_what_cannot_be_made_is_refused_with_the_reason(shop, shared_part):
    part = shared_part("nist_ctc_01_asme1_ap242-e1.stp")
    shop.say("plan", part, "--into", shop.folder / "out", code=3)
    plan = json.loads((shop.folder / "out" / "plan.json").read_text())
    stops = [finding for finding in plan["parts"][0]["findings"] if finding["level"] == "stop"]
    assert stops
    assert all(finding["remedy"] for finding in stops)


FITTED = {  # scaled so that it fits the default box, where it does not
    "angle_block.STL": ["--unit", "mm"],
    "busted.STL": ["--unit", "mm"],
    "counterXP.3MF": ["--scale", "0.3"],
    "featuretype.3MF": ["--scale", "0.4"],
    "featuretype.STEP": ["--scale", "0.4"],
    "idler_riser.STL": ["--unit", "mm", "--scale", "0.5"],
    "nist_ftc_07_asme1_ap242-e2.stp": ["--scale", "0.2"],
    "plate_holes.STL": ["--unit", "mm", "--scale", "0.5"],
}


@pytest.mark.parametrize("name", FITTED)
def test_every_part_is_planned_or_refused_with_a_finding(shop, shared_part, name):
    into = shop.folder / "out"
    command = shop.command("plan", shared_part(name), *FITTED[name], "--head", "head-400", "--into", into)
    done = subprocess.run(command, capture_output=True, text=True, env=shop.env, check=False)
    assert done.returncode in (0, 3), done.stderr
    plan = json.loads((into / "plan.json").read_text())
    stops = [finding["what"] for finding in plan["parts"][0]["findings"] if finding["level"] == "stop"]
    assert bool(stops) == (done.returncode == 3)
    assert (into / "traveller.pdf").exists() == (done.returncode == 0)
