"""Every way in which powder moves, by what its form holds: masses end where they were said to."""

import pytest

from sagger.desk import uploads
from sagger.desk.measuring import book
from sagger.desk.powder import lot_typed, lots
from sagger.errors import InputError
from sagger.ledger.lots import Mover
from sagger.web.powder_moves import MOVES, words

ANN = Mover(person="Ann", note="")


@pytest.fixture(scope="module", autouse=True)
def shelf(tmp_path_factory):
    """Two lots of 40 kg, A and B."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(tmp_path_factory.mktemp("shop")))
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        for name in "AB":
            entries = dict.fromkeys(lot_typed.ASKED, "") | {
                "name": name,
                "powder": "steel-316l",
                "mass": "40 kg",
            }
            lot_typed.receive(uploads.begin(), entries, "", "Ann")
        yield


def moved(title, **entries):
    """Book a move by its form; what its fields do not say is empty."""
    (move,) = [move for move in MOVES if move.title == title]
    assert set(entries) <= set(move.labels)
    return move.book(dict.fromkeys(move.labels, "") | entries, ANN)


def masses():
    return {lot.name: lot.mass_kg for lot in lots.shelf()[0].lots}


@pytest.mark.slow
def test_powder_goes_from_lot_to_sieve_to_blend_to_box_and_back():
    moved("Sieve a lot", lot="A", new="A-s", passed="28 kg", oversize="1 kg", taken="30 kg")
    assert masses() == pytest.approx({"A": 10, "A-s": 28, "B": 40}, rel=1e-9, abs=0)
    moved("Blend lots", new="M", of="A-s=20 kg, B=10 kg")
    assert masses() == pytest.approx({"A": 10, "A-s": 8, "B": 30, "M": 30}, rel=1e-9, abs=0)
    moved("Charge a box", box="P-1", of="M=25 kg")
    said = moved("Empty a box", box="P-1", new="R", recovered="20 kg", pieces="4 kg", oversize="0.5 kg")
    assert "0.5 kg" in said and "(2.00%) lost" in said
    assert masses() == pytest.approx({"A": 10, "A-s": 8, "B": 30, "M": 5, "R": 20}, rel=1e-9, abs=0)
    moved("Throw powder away", lot="B", mass="12 kg")
    moved("Throw powder away", lot="A")
    assert masses() == pytest.approx({"A-s": 8, "B": 18, "M": 5, "R": 20}, rel=1e-9, abs=0)


def test_a_printed_box_needs_whole_numbers_and_tells_which(monkeypatch):
    for field in ("job", "number"):
        with pytest.raises(InputError) as refused:
            moved("Book a printed box", **({"box": "P-2", "job": "1", "number": "1"} | {field: "one"}))
        assert refused.value.field == field
    calls = []
    monkeypatch.setattr(book, "box", lambda *given: calls.append(given) or ("entry 1",))
    assert moved("Book a printed box", box="P-2", job="3", number="2") == "entry 1"
    assert calls == [("P-2", 3, 2, ANN)]


def test_words_stand_between_commas():
    assert words(" A=1 kg,, B=2 kg ") == ("A=1 kg", "B=2 kg")
