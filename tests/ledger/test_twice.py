"""A command given again after it was cut off books nothing twice; a clock set back books nothing at all."""

import json
from datetime import datetime, timedelta

import numpy as np
import pytest

from sagger.errors import InputError, LedgerError
from sagger.goods.asked import CellEvent, GivenPromise
from sagger.goods.factors import Factors
from sagger.goods.lot import Lot
from sagger.goods.reading import Instrument, Reading
from sagger.ledger import approved, bodies, cellbook, entries, jobs, lots, people, readings

ONCE = lots.Mover(person="A. Person", once=True)
AGAIN = lots.Mover(person="A. Person")
READING = Reading(kind="length", state="green", value=0.01, u=1e-5, box="B", piece="1")


def factors():
    return Factors(k=np.full(3, 1.2), u=np.full(3, 0.01), material="m", origin="card")


@pytest.fixture
def powder(book):
    lots.receive(book, Lot(name="L", powder="m", origin="received"), 100.0, ONCE)
    return book


PROMISE = GivenPromise(order="O", by="2027-03-05", chance=0.9, given="2027-03-01")
DOWN = CellEvent(kind="down", subject="printer 1", at="2027-03-02T08:00", until="2027-03-02T12:00")
DEEDS = {
    "charge": lambda book, step: lots.charge(book, "B", {"L": 2.0}, step),
    "scrap": lambda book, step: lots.scrap(book, "L", 2.0, step),
    "reading": lambda book, step: readings.add(book, [READING], step.person, "by hand", once=step.once),
    "promise": lambda book, step: cellbook.promise(book, PROMISE, step),
    "event": lambda book, step: cellbook.event(book, DOWN, step),
    "factors": lambda book, step: approved.approve(book, factors(), step.person, "why", once=step.once),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_what_is_booked_already_is_not_booked_again(powder, deed):
    DEEDS[deed](powder, ONCE)
    before = entries.check(powder)
    with pytest.raises(InputError, match=r"entry 2 of .* says just this already.*--again"):
        DEEDS[deed](powder, ONCE)
    assert entries.check(powder).seal == before.seal
    DEEDS[deed](powder, AGAIN)
    assert entries.check(powder).entries == 3


def test_a_lot_measured_again_word_for_word_is_one_entry(powder):
    lot = Lot(name="L", powder="m", origin="received", exposures=np.array([0.5, 0.5]))
    first = lots.measure(powder, lot, ONCE)
    assert lots.measure(powder, lot, ONCE) == first
    assert lots.measure(powder, lot, AGAIN) == first + 1


def test_the_clock_is_said_to_be_right_once_until_something_else_is_booked(powder):
    def said():
        with powder.writing() as connection:
            return entries.clock_right(connection, "A. Person", "it was ahead")

    first = said()
    assert said() == first
    lots.charge(powder, "B", {"L": 2.0}, ONCE)
    assert said() == first + 2


def calliper(u):
    return Instrument(name="calliper", kind="length", u=1e-6 * u, u_shared=1e-6)


def planned(book, seed):
    """A job and the digest of one of its plans; neither is an entry."""
    if not jobs.listed(book):
        jobs.begin(book, jobs.Beginning("n", "order", "folder", "0", ""))
    return 1, bodies.put(book, json.dumps({"plan": seed}))


MEANT_ONCE = {
    "instrument": lambda book, u: readings.enter_instrument(book, calliper(u), "A. Person"),
    "plan": lambda book, seed: approved.approve_plan(book, *planned(book, seed), "A. Person", "as planned"),
}


@pytest.mark.parametrize("deed", MEANT_ONCE)
def test_what_means_nothing_a_second_time_is_booked_once_and_says_where(powder, deed):
    """Given again after a kill it gives the number of the first; something else is another entry."""
    first = MEANT_ONCE[deed](powder, 1)
    assert MEANT_ONCE[deed](powder, 1) == first == 2 and entries.check(powder).entries == 2
    assert MEANT_ONCE[deed](powder, 2) == 3
    assert MEANT_ONCE[deed](powder, 1) == 4


@pytest.mark.slow
def test_another_person_another_note_and_another_mass_are_second_ones(powder):
    lots.scrap(powder, "L", 2.0, ONCE)
    lots.scrap(powder, "L", 2.0, lots.Mover(person="B. Person", once=True))
    lots.scrap(powder, "L", 2.0, lots.Mover(person="A. Person", note="again", once=True))
    lots.scrap(powder, "L", 2.5, ONCE)
    assert entries.check(powder).entries == 5


def _set(monkeypatch, **back):
    class Then(datetime):
        @classmethod
        def now(cls, zone=None):
            return datetime.now(zone) - timedelta(**back)

    monkeypatch.setattr(entries, "datetime", Then)
    monkeypatch.setattr(people, "datetime", Then)


def test_a_clock_that_was_set_back_books_nothing_until_somebody_says_that_it_is_right(powder, monkeypatch):
    _set(monkeypatch, days=400)
    with pytest.raises(LedgerError, match=r"the clock of this machine says .*Set the clock right"):
        lots.scrap(powder, "L", 2.0, AGAIN)
    with powder.writing() as connection:
        entries.add(connection, entries.CLOCK, "A. Person", {}, "it was a year ahead")
    lots.scrap(powder, "L", 2.0, AGAIN)
    assert entries.check(powder).entries == 3


def test_a_session_does_not_outlast_its_hours_by_a_clock_that_is_set_back(powder, monkeypatch):
    people.put(powder, "Ann", "look", "aa:bb")
    people.log_in(powder, people.named(powder, "Ann").id, "token", 12.0)
    assert people.of_session(powder, "token").name == "Ann"
    _set(monkeypatch, days=400)
    assert people.of_session(powder, "token") is None


def test_the_clocks_of_two_benches_may_differ_a_little(powder, monkeypatch):
    _set(monkeypatch, minutes=5)
    lots.scrap(powder, "L", 2.0, AGAIN)
