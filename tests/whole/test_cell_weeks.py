"""Four weeks of the invented shop: a breakdown, a lost build, a rush order; every promise is scored."""

import runpy
import sys
from pathlib import Path

import pytest

from sagger.desk.planning import cell
from sagger.ledger import entries

pytestmark = pytest.mark.slow
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("cell")
        patch.setenv("SAGGER_HOME", str(folder))
        patch.setattr(sys, "path", [str(EXAMPLES), *sys.path])
        yield runpy.run_path(str(EXAMPLES / "cell_weeks.py"))["run"](folder)


def test_promises_are_scored_and_most_are_met(story):
    scores, held = cell.scores(), cell.book()
    assert len(scores) == len(held.delivered()) >= 10 and len(held.open_orders()) <= 2
    assert sum(score.met for score in scores) >= 0.8 * len(scores)


def test_the_story_has_a_breakdown_a_lost_build_and_a_rush(story):
    text = "\n".join(story)
    assert "printer 1 is down until" in text and "scrapped" in text
    assert "rush: it rests on plan" in text and "rush delivered" in text


def test_nothing_in_the_ledger_was_changed_afterwards(story):
    assert entries.check(cell.ledger()).entries > 40


def test_the_week_is_drawn_with_every_machine(story):
    picture = cell.week_picture()
    assert picture.startswith("<svg") and all(name in picture for name in ("printer 1", "oven", "bench"))
