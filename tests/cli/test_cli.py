"""What a person meets at the command line."""

import json
import os
import subprocess
import sys

import pytest

from sagger.geometry.surface import dots

pytestmark = pytest.mark.slow


@pytest.fixture
def run(tmp_path):
    env = os.environ | {"SAGGER_HOME": str(tmp_path / "home"), "COLUMNS": "110"}

    def call(*words, code=0):
        done = subprocess.run(
            [sys.executable, "-m", "sagger", *map(str, words)],
            capture_output=True,
            text=True,
            env=env,
            check=False,
        )
        assert done.returncode == code, done.stderr
        assert "Traceback" not in done.stderr
        return done

    return call


def test_every_command_explains_itself(run):
    from sagger.cli import COMMANDS

    listed = run("--help").stdout
    assert all(f"\n  {name} " in listed for name in COMMANDS)


@pytest.mark.parametrize(
    "words", [["plan"], ["dance"], ["plan", "x.toml"], ["show", "first"], ["plan", "a", "--into"]]
)
def test_wrong_words_are_refused_with_a_sentence(run, words):
    assert run(*words, code=2).stderr.strip()


def test_jobs_of_a_new_shop(run):
    assert "no jobs yet" in run("jobs").stdout
    assert json.loads(run("jobs", "--json").stdout) == {"schema": "sagger-jobs/1", "jobs": []}
    assert "there is no job 7" in run("show", "7", code=4).stderr


def test_a_home_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    env = os.environ | {"SAGGER_HOME": str(tmp_path / "file" / "below")}
    done = subprocess.run(
        [sys.executable, "-m", "sagger", "jobs"], capture_output=True, text=True, env=env, check=False
    )
    assert done.returncode == 4
    assert "SAGGER_HOME" in done.stderr


def test_factors_are_approved_and_listed(run):
    words = ["--k", "1.2", "1.2", "1.23", "--u", "0.002", "0.002", "0.003"]
    said = run(
        "factors", "approve", "steel-316l", *words, "--person", "A. Person", "--reason", "12 coupons"
    ).stdout
    assert "entry 1" in said
    assert json.loads(run("factors", "--json").stdout)["factors"][0]["k_z"] == 1.23
    assert "from approved factors, ledger entry 1" in run("factors", "today", "steel-316l").stdout
    assert json.loads(run("factors", "today", "steel-17-4ph", "--json").stdout)["origin"] == "card"
    words[3] = "12.3"
    refused = run("factors", "approve", "steel-316l", *words, "--person", "A", "--reason", "b", code=2)
    assert "between 0.5 and 2" in refused.stderr
    words[3] = "1.23"
    unknown = run("factors", "approve", "unobtainium", *words, "--person", "A", "--reason", "b", code=2)
    assert "unobtainium" in unknown.stderr


def test_cards_are_listed_and_shown_with_their_standing(run):
    listed = json.loads(run("cards", "--json").stdout)["cards"]
    assert {"steel-316l", "steel-17-4ph", "alumina", "silica-sand"} <= set(listed["powder"])
    card = json.loads(run("cards", "powder", "steel-316l", "--json").stdout)
    assert {row["standing"] for row in card["figures"]} <= {"read", "measured", "worked", "memory", "assumed"}
    assert "solid_density" in run("cards", "powder", "steel-316l").stdout
    assert "spoon" in run("cards", "spoon", code=2).stderr


def test_a_label_is_read_and_a_wrong_one_refused(run):
    text = dots.spelt(dots.written(3, 7))
    assert "3-07" in run("learn", "label", text).stdout
    flipped = ("1" if text[0] == "0" else "0") + text[1:]
    assert "read wrong" in run("learn", "label", flipped, code=2).stderr


def test_learning_without_readings_says_what_is_missing(run):
    said = run("learn", "propose", "steel-316l", "--person", "A. Person", code=2).stderr
    assert "3 pieces" in said
    assert "no proposal" in run("learn", "approve", "7", "--person", "B", "--reason", "r", code=4).stderr
    assert "no map" in run("learn", "bed", "steel-316l", "box-400x250x250", code=2).stderr


def test_judging_without_readings_says_what_is_missing(run):
    assert "no finished lengths" in run("judge", "lengths", "0.2 mm", code=2).stderr
    assert "two persons" in run("judge", "gauge", "calliper 1", code=2).stderr


def test_an_order_by_place_without_a_map_is_refused(run, tmp_path):
    order = tmp_path / "order.toml"
    order.write_text(
        '[order]\nname = "o"\n[cards]\npowder = "steel-316l"\nbox = "box-160x65x65"\n[choices]\n'
        'by_place = true\n[[coupon]]\nkind = "cube"\nplaces = [[0.5, 0.5]]\n'
    )
    said = run("plan", order, "--into", tmp_path / "out", code=2).stderr
    assert "no map of the bed is approved for steel-316l in box-160x65x65" in said
