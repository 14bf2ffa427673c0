"""Proposals wait for a person; what was approved is in force for the next job."""

import dataclasses

import numpy as np
import pytest

from sagger.errors import InputError, LedgerError
from sagger.goods.factors import Factors
from sagger.goods.learned import AxisLearned, BedMap, FactorProposal, Scatter
from sagger.ledger import approved, entries, learned


def axis(name, verdict="change"):
    numbers = {field.name: 1.0 for field in dataclasses.fields(AxisLearned)}
    return AxisLearned(**(numbers | {"axis": name, "verdict": verdict}))


def proposal(k=1.19, verdict="change", box="box-1"):
    bed = BedMap(
        box=box,
        material="steel",
        places_mm=np.eye(3),
        density=np.array([0.5, 0.55, 0.6]),
        noise=0.001,
        axes=(0,),
        amplitude=0.0,
        reach_mm=np.ones(3),
        reference=0.55,
    )
    scatter = Scatter(
        **dict.fromkeys(("lot", "bed", "furnace", "part", "gauge_mm"), 1e-3),
        **dict.fromkeys(("readings", "lots", "beds", "furnaces"), 9),
        material="steel",
        origin="readings",
    )
    return FactorProposal(
        material="steel",
        box=box,
        lot="",
        axes=(axis("x", verdict), axis("y"), axis("z")),
        factors=Factors(k=np.full(3, k), u=np.full(3, 1e-3), material="steel", origin="proposed"),
        bed=bed,
        scatter=scatter,
        before_scatter_mm=0.1,
        place_scatter_mm=0.05,
        length_mm=50.0,
        notes=(),
        readings=(1, 2, 3),
    )


def test_a_proposal_alone_puts_nothing_in_force(book):
    number = learned.propose(book, proposal(), "A. Person")
    found = learned.in_force(book, "steel", "box-1")
    assert (found.factors, found.bed, found.scatter) == (None, None, None)
    assert learned.proposal(book, number).readings == (1, 2, 3)


def test_a_proposal_that_was_made_already_is_the_one_that_waits(book):
    """Made again after a kill; from other readings it is another one."""
    number = learned.propose(book, proposal(), "A. Person")
    assert learned.propose(book, proposal(), "A. Person") == number
    assert learned.propose(book, proposal(1.2), "A. Person") == number + 1
    assert entries.check(book).entries == 2


@pytest.mark.slow
def test_what_a_person_approved_is_in_force_in_its_box(book):
    number = learned.propose(book, proposal(), "A. Person")
    learned.approve(book, number, "B. Person", "27 coupons")
    found = learned.in_force(book, "steel", "box-1")
    np.testing.assert_allclose(found.factors.k, 1.19, rtol=1e-12)
    np.testing.assert_allclose(found.bed.density, [0.5, 0.55, 0.6], rtol=1e-12)
    assert found.scatter.lots == 9
    other = learned.in_force(book, "steel", "box-2")
    assert other.bed is None and other.scatter is not None
    assert entries.check(book).entries == 2


@pytest.mark.slow
def test_where_no_factor_changes_only_map_and_scatter_are_renewed(book):
    for verdict in ("change", "keep"):
        kept = tuple(axis(name, verdict) for name in "xyz")
        number = learned.propose(book, dataclasses.replace(proposal(), axes=kept), "A. Person")
        learned.approve(book, number, "B. Person", "coupons")
    assert len(approved.listed(book)) == 1
    assert entries.check(book).entries == 4


def test_the_newest_approval_holds(book):
    for k in (1.19, 1.20):
        number = learned.propose(book, proposal(k), "A. Person")
        learned.approve(book, number, "B. Person", "coupons")
    np.testing.assert_allclose(learned.in_force(book, "steel", "box-1").factors.k, 1.20, rtol=1e-12)


def test_a_withdrawn_proposal_takes_map_and_scatter_along_and_may_be_approved_again(book):
    number = learned.propose(book, proposal(), "A. Person")
    approved.withdraw(book, learned.approve(book, number, "B. Person", "coupons"), "B. Person", "slip")
    found = learned.in_force(book, "steel", "box-1")
    assert (found.factors, found.bed, found.scatter) == (None, None, None)
    assert learned.waiting(book) == [number]
    learned.approve(book, number, "B. Person", "looked at again")
    assert learned.in_force(book, "steel", "box-1").bed is not None


def test_an_approval_is_whole_or_not_there(book, monkeypatch):
    number = learned.propose(book, proposal(), "A. Person")

    def killed(*_):
        raise RuntimeError

    monkeypatch.setattr(entries, "_insert", killed)
    with pytest.raises(RuntimeError):
        learned.approve(book, number, "B. Person", "coupons")
    monkeypatch.undo()
    assert learned.waiting(book) == [number]
    assert approved.listed(book) == [] and entries.check(book).entries == 1


@pytest.mark.slow
def test_a_proposal_is_approved_once_and_not_where_it_is_blocked(book):
    number = learned.propose(book, proposal(), "A. Person")
    learned.approve(book, number, "B. Person", "coupons")
    with pytest.raises(InputError, match="approved already"):
        learned.approve(book, number, "B. Person", "coupons")
    blocked = learned.propose(book, proposal(verdict="blocked"), "A. Person")
    with pytest.raises(InputError, match="along x contradicts"):
        learned.approve(book, blocked, "B. Person", "coupons")
    with pytest.raises(LedgerError, match="no proposal"):
        learned.approve(book, 99, "B. Person", "coupons")
