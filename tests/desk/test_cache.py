"""`make` does a work once for the same inputs, and says by which edition."""

import sys
import types

import numpy as np
import pytest

from sagger import ledger
from sagger.desk.planning.cache import maker
from sagger.goods.factors import Factors
from sagger.ledger import jobs, works
from sagger.tick import silent


@pytest.fixture
def room(monkeypatch):
    module = types.ModuleType("sagger_test_room")
    module.EDITION = "1"
    module.calls = 0
    source = "from dataclasses import replace\ndef double(factors):\n global calls\n calls += 1\n"
    source += " return replace(factors, k=factors.k * 2)"
    exec(source, module.__dict__)
    monkeypatch.setitem(sys.modules, "sagger_test_room", module)
    return module


def _factors(k=1.2):
    return Factors(k=np.full(3, k), u=np.zeros(3), material="m", origin="card")


def _make(book):
    return maker(book, jobs.begin(book, jobs.Beginning("n", "o", "f", "0", "")), silent)


def test_a_second_run_remembers(room, tmp_path):
    book = ledger.open_at(tmp_path)
    first = _make(book)(room.double, _factors())
    second = _make(book)(room.double, _factors())
    assert room.calls == 1
    np.testing.assert_array_equal(first.k, second.k)
    assert [use.remembered for use in works.of_job(book, 2)] == [True]


def test_another_input_or_edition_is_new_work(room, tmp_path):
    make = _make(ledger.open_at(tmp_path))
    make(room.double, _factors())
    make(room.double, _factors(1.3))
    room.EDITION = "2"
    make(room.double, _factors())
    assert room.calls == 3


def test_a_verb_without_a_room_is_a_mistake_of_ours():
    with pytest.raises(TypeError, match="EDITION"):
        works.named(test_a_second_run_remembers)
