"""Work says how far it is and hears "stop"."""

import pytest

from sagger.errors import Cancelled
from sagger.tick import Tick


def test_first_and_last_are_always_said():
    said = []
    tick = Tick(lambda doing, done, total: said.append((doing, done, total)), lambda: False)
    assert list(tick.over(range(1000), "counting")) == list(range(1000))
    assert said[0] == ("counting", 0, 1000)
    assert said[-1] == ("counting", 1000, 1000)
    assert len(said) < 50


def test_stop_is_heard_between_two_items():
    done = []
    tick = Tick(lambda doing, done, total: None, lambda: len(done) == 3)
    with pytest.raises(Cancelled):
        for item in tick.over(range(10), "counting"):
            done.append(item)
    assert done == [0, 1, 2]


def test_a_broad_handler_does_not_swallow_a_stop():
    tick = Tick(lambda doing, done, total: None, lambda: True)
    with pytest.raises(Cancelled):
        try:
            tick.say("working")
        except Exception:  # noqa: BLE001 - the handler under test
            pytest.fail("Cancelled must not be an Exception")


def test_what_is_being_improved_ends_when_a_person_says_enough():
    said = []
    tick = Tick(lambda doing, done, total: None, lambda: False, lambda: len(said) == 3)
    for number in tick.until_enough(range(10)):
        assert tick.improving
        said.append(number)
    assert said == [0, 1, 2]
    assert not tick.improving
