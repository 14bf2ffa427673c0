"""Yields and lines that cannot be right are refused."""

import pytest

from sagger.errors import LawError
from sagger.physics import money


def test_a_yield_of_nothing_is_refused():
    with pytest.raises(LawError, match="yield"):
        money.yield_total([0.9, 0.0])


def test_exact_yield_starts_no_piece_too_many():
    assert money.starts(90, [0.9]) == 100


def test_a_machine_that_never_runs_has_no_rate():
    with pytest.raises(LawError, match="hours"):
        money.machine_rate(1, 0, 1, 0, 0, 0)


def test_shares_sum_to_one():
    assert money.shares([1, 1, 2]) == [0.25, 0.25, 0.5]
