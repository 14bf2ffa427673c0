"""Readings at the command line: entered once, listed, bad rows told with exit code 2."""

import json

import pytest
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.errors import InputError


@pytest.fixture
def say(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SAGGER_PERSON", "A. Person")

    def said(*words):
        outcome = CliRunner().invoke(sagger, ["readings", *words])
        if isinstance(outcome.exception, InputError):
            raise outcome.exception
        return outcome

    said("instrument", "calliper 1", "--u", "0.005 mm", "--u-shared", "0.01 mm")
    return said


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "table.csv"
    rows = ["B1,a,length,sintered,x,20.01 mm,calliper 1", "B1,a,length,sintered,x,2O.01 mm,calliper 1"]
    path.write_text("\n".join(["box,piece,kind,state,axis,value,instrument", *rows]))
    return str(path)


def test_good_rows_are_kept_and_bad_ones_told(say, table):
    outcome = say("load", table)
    assert outcome.exit_code == 2
    assert "line 3, column 6 (value): a number is needed, not '2O.01'" in outcome.stdout
    (found,) = json.loads(say("--json").stdout)["readings"]
    assert (found["value"], found["u_shared"]) == (pytest.approx(0.02001, abs=1e-9), 1e-5)


def test_the_same_table_is_not_taken_twice(say, table):
    say("load", table)
    with pytest.raises(InputError, match="loaded before, as entry 2"):
        say("load", table)


def test_a_reading_by_hand_takes_the_columns_of_a_table(say):
    assert (
        "20.0100 ± 0.0112 mm"
        in say(
            "enter", "B1", "a", "kind=length", "state=green", "value=20.01 mm", "instrument=calliper 1"
        ).stdout
    )
    with pytest.raises(InputError, match="state"):
        say("enter", "B1", "a", "kind=length", "state=blue", "value=20.01 mm", "u=0.1 mm")
    assert "columns: box" in say("enter", "B1", "a", "colour=red").output


def test_instruments_are_listed(say):
    say("instrument", "durometer", "--kind", "hardness", "--u", "3")
    text = say("instrument").stdout
    assert "calliper 1  length  u 0.0050 mm alone, 0.0100 mm shared" in text
    assert "durometer  hardness" in text
