"""A shop's own copy of a card, written by an evaluation."""

import pytest

from sagger.cards.read import load
from sagger.desk.cards import own_cards
from sagger.desk.home import card_folders
from sagger.errors import CardError

RUNS = own_cards.OwnSource(key="tga-1", title="Three runs", seen="table")
GOOD = own_cards.CardFigure("310 kJ/mol", source="tga-1", where="row 1", u="4 kJ/mol")


@pytest.fixture(autouse=True)
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    return tmp_path / "cards"


def test_figures_go_into_their_table_and_the_card_before_is_put_aside(shop):
    field = "activation_energy"
    own_cards.put("powder", "steel-316l", {field: GOOD}, RUNS, within="sintering")
    own_cards.put(
        "powder", "steel-316l", {field: GOOD._replace(value="320 kJ/mol")}, RUNS, within="sintering"
    )
    figure = load("powder", "steel-316l", card_folders()).sintering.activation_energy
    assert (figure.value, figure.u, figure.source) == (320e3, 4e3, "tga-1")
    earlier = list((shop / "powders" / "earlier").glob("steel-316l-*.toml"))
    assert len(earlier) == 1 and "310 kJ/mol" in earlier[0].read_text()


def test_a_card_that_would_be_refused_leaves_everything_as_it_was(shop):
    wrong = {"activation_energy": GOOD._replace(value="310 kg")}
    with pytest.raises(CardError):
        own_cards.put("powder", "steel-316l", wrong, RUNS, within="sintering")
    assert not (shop / "powders" / "steel-316l.toml").exists()
    assert not (shop / "sources.toml").exists()
