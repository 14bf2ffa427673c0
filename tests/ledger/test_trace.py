"""From a piece back to its powder, furnace, readings and people; from a lot forward to every piece."""

import pytest

from sagger.errors import InputError
from sagger.goods.booked import BookedBox, BookedPiece, FiredPiece, FurnaceRun, PrintedFrom
from sagger.goods.lot import Lot
from sagger.goods.reading import Reading
from sagger.ledger import boxes, lots, readings, trace

ME = lots.Mover(person="A. Person")


def _box(book, name, person="B. Person"):
    pieces = tuple(BookedPiece(label=label, part="bar", number=1, at_mm=(1.0, 2.0, 3.0)) for label in "ab")
    boxes.book(
        book,
        BookedBox(name=name, powder="steel-316l", pieces=pieces, facts=PrintedFrom(k=(1.2, 1.2, 1.2))),
        person,
    )


@pytest.fixture
def two_rounds(book):
    for name in ("L1", "L2"):
        lots.receive(book, Lot(name=name, powder="steel-316l", origin="received"), 50.0, ME)
    lots.charge(book, "box 1", {"L1": 20.0}, ME)
    _box(book, "box 1")
    lots.recover(book, "box 1", lots.named("R1"), lots.Recovered(18.0, 2.0), ME)
    lots.blend(book, {"R1": 18.0, "L2": 6.0}, lots.named("M2"), ME)
    lots.charge(book, "box 2", {"M2": 20.0}, ME)
    _box(book, "box 2")
    _box(book, "box 3")
    stood = FiredPiece(box="box 2", piece="a", tray="1", place="front left")
    boxes.fire(book, FurnaceRun(name="F1", furnace="metal-batch", pieces=(stood,)), "C. Person")
    reading = Reading(kind="length", state="sintered", value=0.02, u=1e-5, box="box 2", piece="a")
    readings.add(book, [reading], "D. Person")
    return book


@pytest.mark.slow
def test_a_piece_leads_back_to_lots_furnace_readings_and_people(two_rounds):
    found = trace.back(two_rounds, "box 2", "a")
    assert [(step.what, step.name) for step in found.powder] == [
        *(("charge", "box 2"), ("blend", "M2"), ("recover", "R1"), ("charge", "box 1")),
        *(("receive", "L2"), ("receive", "L1")),
    ]
    assert found.powder[1].sources == {"R1": 18.0, "L2": 6.0}
    assert (found.furnace[0].name, found.furnace[0].place) == ("F1", "front left")
    assert [taken.reading.value for taken in found.readings] == [0.02]
    assert found.box.facts.k == (1.2, 1.2, 1.2) and found.readings[0].reading.lot == "M2"
    people = {head.person for head in found.entries.values()}
    assert people == {"A. Person", "B. Person", "C. Person", "D. Person"}


@pytest.mark.slow
def test_a_piece_that_never_went_into_a_furnace_says_so(two_rounds):
    found = trace.back(two_rounds, "box 1", "b")
    assert found.furnace == () and found.readings == ()
    assert [step.name for step in found.powder] == ["box 1", "L1"]


@pytest.mark.slow
def test_a_lot_leads_forward_to_every_piece(two_rounds):
    found = trace.forward(two_rounds, "L1")
    assert (found.lots, found.boxes) == (("R1", "M2"), ("box 1", "box 2"))
    assert [(piece.box, piece.label, piece.load) for piece in found.pieces] == [
        *(("box 1", "a", ""), ("box 1", "b", "")),
        *(("box 2", "a", "F1"), ("box 2", "b", "")),
    ]
    assert trace.forward(two_rounds, "L2").boxes == ("box 2",)


@pytest.mark.slow
def test_a_corrected_charge_leads_to_the_right_lot(two_rounds):
    lots.charge(two_rounds, "box 2", {"L2": 20.0}, lots.Mover(person="A. Person", corrects=7))
    assert trace.forward(two_rounds, "L1").boxes == ("box 1",)
    assert [step.name for step in trace.back(two_rounds, "box 2", "a").powder] == ["box 2", "L2"]


@pytest.mark.slow
def test_what_is_not_booked_is_told(two_rounds):
    with pytest.raises(InputError, match="no such piece"):
        trace.back(two_rounds, "box 2", "z")
    with pytest.raises(InputError, match="no lot"):
        trace.forward(two_rounds, "L9")
    with pytest.raises(InputError, match="booked"):
        trace.contents(two_rounds, "box 9")
    assert [piece.label for piece in trace.contents(two_rounds, "box 3")] == ["a", "b"]
