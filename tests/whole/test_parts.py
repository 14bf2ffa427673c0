"""Bare part files that nobody here drew, planned with default cards."""

import json

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
