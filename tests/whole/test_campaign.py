"""The campaign of the manual in a small form: two boxes, two lots, from powder to approved factors."""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

import numpy as np
import pytest

from sagger.desk.home import ledger
from sagger.desk.measuring import learning
from sagger.desk.powder import lots
from sagger.ledger import entries, learned

pytestmark = pytest.mark.slow
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    folder = tmp_path_factory.mktemp("campaign")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(folder / "home"))
        patch.setattr(sys, "path", [str(EXAMPLES), *sys.path])
        campaign = runpy.run_path(str(EXAMPLES / "campaign.py"))
        plot = campaign["Plot"](
            lots=("A-01", "B-02"), levers=8, layer_um=500, learn_after=(1,), by_place_from=2, hot_free_from=2
        )
        yield campaign["run"](folder, plot)


def test_the_last_box_is_better_than_the_first(story):
    first, last = (np.sqrt(np.mean(box["levers"] ** 2)) for box in (story.boxes[0], story.boxes[-1]))
    assert last < 0.8 * first


def test_no_more_is_promised_than_is_found(story):
    """One lot was measured, which says nothing of how the next will differ: chances stay low."""
    for box in story.boxes:
        inside = 100 * np.mean(np.abs(box["levers"][:, 0]) <= 0.2)
        assert 5 < box["promised"] <= inside


def test_what_was_learnt_is_the_truth_of_the_invented_shop(story):
    found = learned.in_force(ledger(), "steel-316l", "box-400x250x250")
    true = 1 / (story.shop.truth.shrunk * (1 + story.shop.lots["A-01"]))  # of the only lot it was learnt from
    np.testing.assert_allclose(found.factors.k, true, rtol=2.5e-3)
    assert abs(story.bleed_um - 30) <= 8
    document, _ = learning.bed("steel-316l", "box-400x250x250", None)
    assert 0.012 < document.slopes[0] < 0.024


def test_powder_closes_and_the_book_is_whole(story):
    document, lines = lots.closing()
    assert abs(document["gap"]) < 1e-9 and document["pieces"] > 0.5
    assert any(line.startswith("mass closes") for line in lines)
    assert entries.check(ledger()).entries >= 12


def test_the_second_box_was_printed_by_place(story):
    import json

    plan = json.loads((story.folder / "plan-2" / "plan.json").read_text())
    own = {round(np.linalg.norm(piece["placement"][2][:3]), 5) for piece in plan["pieces"]}
    assert len(own) > 3
