"""Powder at the command line: a round from receiving to blending, and what it says of it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.errors import SaggerError

EXAMPLE = Path(__file__).parents[2] / "examples" / "lot-316l.toml"


@pytest.fixture
def say(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SAGGER_PERSON", "A. Person")

    def said(*words):
        outcome = CliRunner().invoke(sagger, ["lots", *words])
        if isinstance(outcome.exception, SaggerError):
            raise outcome.exception
        assert outcome.exit_code == 0, outcome.output
        return outcome.stdout

    said("receive", str(EXAMPLE), "--mass", "60 kg")
    said("charge", "B1", "--of", "L-0417=40 kg")
    text = said("recover", "B1", "R1", "--recovered", "36.5 kg", "--pieces", "3.2 kg", "--oversize", "0.1 kg")
    assert "of 40 kg in box B1 0.2 kg (0.50%) lost" in text
    return said


@pytest.mark.slow
def test_the_shelf_says_mass_and_age(say):
    found = {lot["name"]: lot for lot in json.loads(say("--json"))["lots"]}
    assert (found["R1"]["mass_kg"], found["R1"]["builds_behind"]) == (36.5, [0.0, 1.0])
    assert found["R1"]["size"]["method"] == "worked out" and found["R1"]["sources"] == ["B1"]
    assert "36.500 kg  1.00 builds behind it" in say()


@pytest.mark.slow
def test_mass_closes_and_the_book_is_sealed(say):
    found = json.loads(say("closing", "--json"))
    assert (found["received"], found["lots"], found["pieces"], found["lost"], found["gap"]) == (
        *(60.0, 56.5, 3.2, 0.2),
        0.0,
    )
    assert found["entries"] == 3 and len(found["seal"]) == 32
    assert "mass closes exactly" in say("closing")


@pytest.mark.slow
def test_a_wrong_weight_is_corrected(say):
    say("recover", "B1", "R1", "--recovered", "36.0 kg", "--pieces", "3.2 kg", "--corrects", "3")
    assert json.loads(say("closing", "--json"))["lost"] == pytest.approx(0.8, abs=1e-9)


@pytest.mark.slow
def test_a_blend_says_what_it_is_made_of_and_refresh_how_much_virgin_it_needs(say):
    say("blend", "M1", "--of", "L-0417=10 kg", "--of", "R1=30 kg")
    text = say("show", "M1")
    assert "blended from L-0417, R1" in text and "0: 25.0 %, 1: 75.0 %" in text
    found = json.loads(say("refresh", "M1", "--builds", "1", "--share", "30 %", "--json"))
    assert found["virgin_share"] == pytest.approx(0.6, abs=1e-9)
    assert found["virgin_kg"] == pytest.approx(60.0, abs=1e-6)
    mixed = 0.75 * 40.0 / (40.0 + found["virgin_kg"])
    assert mixed == pytest.approx(0.3, abs=1e-9)
    left = 1 - found["virgin_share_each_build"]  # of a charge, at each build; ages are geometric
    assert found["mean_builds_behind"] == pytest.approx(left / (1 - left), abs=1e-9)
    assert found["share_twice_as_old"] == pytest.approx(left**2, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("show", "L9"), "no lot of the ledger"),
        (("blend", "M1", "--of", "R1"), "name=mass"),
        (("blend", "M1", "--of", "R1=1 kg", "--of", "R1=1 kg"), "said twice"),
        (("scrap", "R1", "--mass", "3 mm"), "mass is needed"),
        (("refresh", "R1", "--builds", "2", "--share", "0 %"), "between 0 and 1"),
    ],
)
def test_what_makes_no_sense_is_refused(say, words, message):
    with pytest.raises(SaggerError, match=message):
        say(*words)


@pytest.mark.slow
def test_an_order_may_name_a_lot_of_the_ledger(say):
    from sagger.desk.powder.lot import lot

    assert lot("R1", "steel-316l").origin == "recovered"
    with pytest.raises(SaggerError, match=r"lot R1 is of steel-316l"):
        lot("R1", "alumina")
