"""Readings at the command line: entered once, listed, bad rows told with exit code 2."""

import json

import pytest
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.desk.home import ledger
from sagger.errors import InputError
from sagger.goods.booked import BookedBox, BookedPiece, PrintedFrom
from sagger.ledger import boxes


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


@pytest.mark.slow
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


def test_a_table_whose_readings_were_voided_is_taken_again(say, table):
    say("load", table)
    say("void", "1", "--reason", "the wrong bar")
    assert "entry 4: 1 readings" in say("load", table).stdout


def test_a_piece_that_the_box_does_not_hold_is_told_by_line(say, table):
    pieces = tuple(BookedPiece(label=label, part="bar") for label in ("bar 1", "a"))
    box = BookedBox(name="B1", powder="steel-316l", pieces=pieces, facts=PrintedFrom())
    boxes.book(ledger(), box, "A. Person")
    with open(table, "a") as more:
        more.write(
            "\nB1,bar1,length,sintered,x,20.01 mm,calliper 1\nB2,any,length,sintered,x,20 mm,calliper 1"
        )
    out = say("load", table).stdout
    assert "line 4, column 2 (piece): box 'B1' holds no piece 'bar1'; did you mean 'bar 1'?" in out
    assert "2 readings from" in out
    with pytest.raises(InputError, match="did you mean 'bar 1'"):
        say("enter", "B1", "bar1", "kind=length", "state=green", "value=20 mm", "u=0.1 mm")


def test_a_reading_is_voided_with_a_reason(say, table):
    say("load", table)
    assert "entry 3: of no account" in say("void", "1", "--reason", "the wrong bar").stdout
    assert json.loads(say("--json").stdout)["readings"] == []


@pytest.mark.slow
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
