"""Factors at the command line: approved under conditions, refused by the balance of mass, withdrawn."""

import json

import pytest
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.errors import InputError, LedgerError

STEEL = ("steel-316l", "--k", "1.191", "1.193", "1.228", "--u", "0.0006", "0.0006", "0.0009")


@pytest.fixture
def say(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SAGGER_PERSON", "A. Person")

    def run(*words):
        outcome = CliRunner().invoke(sagger, ["factors", *words])
        if isinstance(outcome.exception, InputError | LedgerError):
            raise outcome.exception
        assert outcome.exit_code == 0, outcome.output
        return outcome.stdout

    return run


@pytest.mark.slow
@pytest.mark.parametrize(
    ("k", "words"),
    [
        (("0.84", "0.84", "0.82"), "32.4% of full density.*below the green density"),
        (("1.26", "1.26", "1.30"), "115.6% of full density.*above full density"),
    ],
)
def test_factors_that_no_body_can_have_are_refused_with_the_balance(say, k, words):
    with pytest.raises(InputError, match=words):
        say("approve", "steel-17-4ph", "--k", *k, "--u", "0.001", "0.001", "0.001", "--reason", "slip")
    assert "no approved factors yet" in say()


@pytest.mark.slow
def test_where_nobody_says_conditions_the_usual_ones_count_and_that_is_said(say):
    words = say("approve", *STEEL, "--reason", "coupons")
    assert "the usual conditions of the cards (nobody said under what)" in words
    (line,) = json.loads(say("--json"))["factors"]
    assert (line["person"], line["holds"], line["withdrawn"]) == ("A. Person", True, "")
    of = line["conditions"]
    assert (of["furnace"], of["density_from"]) == ("metal-batch", "card")
    assert of["layer"] == pytest.approx(5e-5, rel=1e-9, abs=0)


@pytest.mark.slow
def test_conditions_are_stated_with_units_and_listed(say):
    say("approve", *STEEL, "--reason", "r", "--hold", "90 min", "--peak", "1370 degC", "--layer", "60 um",
        "--head", "head-400", "--density", "96.9 %", "--for-lot", "L-1")  # fmt: skip
    words = say()
    assert "steel-316l, lot L-1" in words and "conditions as stated on approval" in words
    assert "90 min at 1370 °C" in words and "layers 60 µm" in words and "head-400" in words
    (line,) = json.loads(say("--json"))["factors"]
    assert line["conditions"]["density"] == pytest.approx(0.969, abs=1e-12)
    assert line["conditions"]["density_from"] == "measured"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--layer", "60"), "layer"),
        (("--hold", "60 um"), "hold"),
        (("--density", "120 %"), "density.*at most 100 %"),
        (("--job", "3", "--head", "head-400"), "job 3 says head itself"),
        (("--furnace", "none"), "none"),
    ],
)
def test_conditions_that_make_no_sense_are_refused(say, words, told):
    with pytest.raises((InputError, LedgerError), match=told):
        say("approve", *STEEL, "--reason", "r", *words)


@pytest.mark.slow
def test_an_approval_is_withdrawn_with_a_reason_and_the_one_before_holds(say):
    say("approve", *STEEL, "--reason", "first")
    say("approve", *STEEL, "--reason", "second")
    assert "use approved factors, ledger entry 1 again" in say("withdraw", "2", "--reason", "slip")
    words = say()
    assert "withdrawn by A. Person" in words and "slip" in words and "in force" in words
    assert "use those of the powder card" in say("withdraw", "1", "--reason", "all of it")
    assert "from card" in say("today", "steel-316l")
    with pytest.raises(LedgerError, match="withdrawn already"):
        say("withdraw", "1", "--reason", "again")
