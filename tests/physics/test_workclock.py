"""The two clocks against a table worked by hand: quarters from Monday 00:00, five days 07:00 to 15:00."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sagger.errors import LawError
from sagger.goods.shift import NEVER, WEEK
from sagger.physics import workclock

FIVE_DAYS = workclock.weekly(28, 60, range(5), 6)
CLOCK = workclock.ticking(FIVE_DAYS)


@pytest.mark.outside("worked by hand")
@pytest.mark.parametrize(
    ("at", "attended", "worked"),
    [
        (0, 28, 0),
        (28, 28, 0),
        (59, 59, 31),
        (60, 124, 32),
        (100, 124, 32),
        (444, 700, 160),  # Friday 15:00
        (480, 700, 160),
        (671, 700, 160),
    ],
)
def test_calendar_to_work_as_worked_by_hand(at, attended, worked):
    assert (workclock.attended(CLOCK, at), workclock.worked(CLOCK, at)) == (attended, worked)


@pytest.mark.outside("worked by hand")
@pytest.mark.parametrize(
    ("work", "begins", "ends"),
    [(1, 29, 29), (31, 59, 59), (32, 124, 60), (33, 125, 125), (160, 700, 444), (161, 701, 701)],
)
def test_work_to_calendar_as_worked_by_hand(work, begins, ends):
    assert (workclock.moment(CLOCK, work), workclock.finish(CLOCK, work)) == (begins, ends)


hours = st.lists(st.booleans(), min_size=40, max_size=200).filter(lambda row: any(row[-5:]))


@pytest.mark.slow
@pytest.mark.nature
@given(hours, st.data())
def test_who_is_ready_earlier_is_never_done_later(there, data):
    clock = workclock.ticking(np.array(there))
    last = int(clock.moments[-1])
    at = np.sort(data.draw(st.lists(st.integers(0, last), min_size=2, max_size=8)))
    met = workclock.attended(clock, at)
    assert np.all(met >= at) and np.all(np.diff(met) >= 0)
    assert np.array_equal(workclock.attended(clock, met), met)
    work = np.arange(len(clock.moments))
    assert np.array_equal(workclock.worked(clock, workclock.moment(clock, work)), work)
    ends = workclock.finish(clock, work[1:])
    assert np.all(ends <= workclock.moment(clock, work[1:]))
    assert np.array_equal(workclock.worked(clock, ends), work[1:])


@pytest.mark.slow
@given(hours, st.integers(1, 12))
def test_a_start_has_all_its_hours_in_one_piece(there, hands):
    there = np.array(there)
    table = workclock.starts(there, hands)
    for at in range(len(there)):
        found = next((t for t in range(at, len(there) - hands + 1) if there[t : t + hands].all()), NEVER)
        assert table[at] == found


def test_a_calendar_that_ends_too_soon_is_told():
    with pytest.raises(LawError, match="make a longer one"):
        workclock.worked(CLOCK, 6 * WEEK + 1)
    with pytest.raises(LawError, match="opens before it closes"):
        workclock.weekly(60, 28, range(5), 1)
