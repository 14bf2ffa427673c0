"""Readings come back as they went in, with what the book knows of their piece; a correction replaces."""

import dataclasses

import pytest

from sagger.errors import InputError, LedgerError
from sagger.goods.booked import BookedBox, BookedPiece, FiredPiece, FurnaceRun, PrintedFrom
from sagger.goods.reading import Instrument, Reading
from sagger.ledger import boxes, entries, proof, readings


def _reading(**changed):
    fields = {"kind": "length", "state": "sintered", "value": 0.02012, "u": 5e-6, "box": "B1", "piece": "a"}
    return Reading(**(fields | {"axis": "x", "instrument": "calliper 1", "u_shared": 1e-5} | changed))


def _booked(book):
    piece = BookedPiece(label="a", part="bar", coupon=True, at_mm=(10.0, 20.0, 30.0))
    boxes.book(
        book, BookedBox(name="B1", powder="steel-316l", pieces=(piece,), facts=PrintedFrom()), "A. Person"
    )
    stood = FiredPiece(box="B1", piece="a", tray="2", place="front left", at_mm=(1.0, 2.0, 3.0))
    boxes.fire(book, FurnaceRun(name="L7", furnace="metal-batch", pieces=(stood,)), "A. Person")


@pytest.mark.slow
def test_a_reading_comes_back_with_what_is_known_of_its_piece(book):
    _booked(book)
    readings.add(book, [_reading()], "A. Person")
    (found,) = readings.listed(book, kind="length", powder="steel-316l")
    assert (found.value, found.u, found.u_shared, found.instrument) == (0.02012, 5e-6, 1e-5, "calliper 1")
    assert (found.part, found.coupon, found.at_mm) == ("bar", True, (10.0, 20.0, 30.0))
    assert (found.load, found.furnace, found.tray, found.place) == ("L7", "metal-batch", "2", "front left")
    assert found.fired_mm == (1.0, 2.0, 3.0)


@pytest.mark.slow
def test_many_readings_come_back_to_the_last_digit_and_letter(book):
    odd = 'a "b", c\n\\N;é%s'
    rows = [
        _reading(value=1 / (number + 3), piece=odd, nominal=None, at_mm=(0.1, 1e-300, 3.0))
        for number in range(99)
    ]
    readings.add(book, rows, "A. Person")
    found = readings.listed(book, piece=odd)
    assert [each.value for each in found] == [1 / (number + 3) for number in range(99)]
    assert found[0].nominal is None and found[0].at_mm == (0.1, 1e-300, 3.0)
    assert entries.check(book).entries == 1


@pytest.mark.slow
def test_what_a_reading_says_itself_stands(book):
    _booked(book)
    readings.add(book, [_reading(load="L8", at_mm=(0.0, 0.0, 0.0), lot="12")], "A. Person")
    (found,) = readings.listed(book)
    assert (found.load, found.at_mm, found.lot) == ("L8", (0.0, 0.0, 0.0), "12")


@pytest.mark.slow
def test_a_corrected_reading_is_listed_no_more(book):
    readings.add(book, [_reading()], "A. Person")
    readings.add(book, [_reading(value=0.0212, corrects=1)], "A. Person", "digits swapped")
    assert [(each.value, each.corrects) for each in readings.listed(book)] == [(0.0212, 1)]
    with pytest.raises(LedgerError, match="replaced already"):
        readings.add(book, [_reading(corrects=1)], "A. Person")
    with pytest.raises(LedgerError, match="no reading 9"):
        readings.add(book, [_reading(corrects=9)], "A. Person")


def test_a_voided_reading_counts_no_more_and_stays(book):
    readings.add(book, [_reading(), _reading(piece="b")], "A. Person")
    readings.void(book, (2,), "B. Person", "the wrong piece")
    assert [each.number for each in readings.listed(book)] == [1]
    with book.reading() as connection:
        assert readings.of_piece(connection, "B1", "b") == []
    for deed in (
        lambda: readings.void(book, (2,), "B. Person", "again"),
        lambda: readings.add(book, [_reading(corrects=2)], "A. Person"),
    ):
        with pytest.raises(LedgerError, match="voided already"):
            deed()
    with pytest.raises(LedgerError, match="no reading 9 to void"):
        readings.void(book, (9,), "B. Person", "none there")
    with pytest.raises(InputError, match="for a reason"):
        readings.void(book, (1,), "B. Person", " ")
    assert entries.check(book).entries == 2


@pytest.mark.slow
def test_a_box_or_a_furnace_run_is_booked_once(book):
    _booked(book)
    with pytest.raises(InputError, match="there is a box of that name"):
        _booked(book)
    stray = FurnaceRun(name="L8", furnace="f", pieces=(FiredPiece(box="B1", piece="z"),))
    with pytest.raises(InputError, match="no such piece"):
        boxes.fire(book, stray, "A. Person")


def test_an_instrument_is_worth_what_was_entered_last(book):
    calliper = Instrument(name="calliper 1", kind="length", u=1e-5, u_shared=2e-5)
    readings.enter_instrument(book, calliper, "A. Person")
    readings.enter_instrument(book, dataclasses.replace(calliper, u_shared=1e-5), "A. Person", "calibrated")
    assert readings.instruments(book)["calliper 1"].u_shared == 1e-5
    with pytest.raises(InputError):
        readings.enter_instrument(book, dataclasses.replace(calliper, u=-1.0), "A. Person")


def test_a_line_of_the_drawing_is_kept_replaced_and_sealed_as_other_readings_are(book):
    """An angle in radians and a width of 0, called by their numbers; the chain of entries holds them."""
    angle = _reading(kind="dimension", feature="7.2 angle", unit="deg", value=1.57, nominal=1.5708, axis="")
    width = _reading(kind="dimension", feature="26 flatness", unit="mm", value=0.0, nominal=None, axis="")
    readings.add(book, [angle, width], "A. Person")
    first, second = readings.listed(book, kind="dimension")
    assert (first.feature, first.unit, first.value, first.nominal) == ("7.2 angle", "deg", 1.57, 1.5708)
    assert (second.value, second.nominal) == (0.0, None)
    readings.add(book, [dataclasses.replace(angle, value=1.58, corrects=first.number)], "A. Person")
    readings.void(book, [second.number], "A. Person", "the wrong face")
    (kept,) = readings.listed(book, kind="dimension")
    assert kept.value == 1.58 and entries.check(book).entries == 3
    assert proof.prove(book).entries == 3
