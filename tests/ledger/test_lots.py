"""Powder goes round and mass closes; age, size and figures of a lot follow from what it is made of."""

import numpy as np
import pytest
import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.figure import Figure
from sagger.goods.lot import Lot, SizeCurve
from sagger.ledger import entries, lots, tables

ME = lots.Mover(person="A. Person")


def _figure(value):
    return Figure(value=value, u=value / 100, printed=f"{value}", source="s", where="w", standing="measured")


def _lot(name, **more):
    return Lot(name=name, powder="steel-316l", origin="received", **more)


def _curve(*size_um):
    shares = np.linspace(0.0, 1.0, len(size_um))
    return SizeCurve(size=np.array(size_um) * 1e-6, finer=shares, method="laser diffraction")


def _one_round(book):
    """Two lots, blended, through one box and back."""
    lots.receive(book, _lot("L1"), 60.0, ME)
    lots.receive(book, _lot("L2", exposures=np.array([0.5, 0.5])), 40.0, ME)
    lots.blend(book, {"L1": 60.0, "L2": 20.0}, lots.named("B1"), ME)
    lots.charge(book, "box 1", {"B1": 50.0}, ME)
    lots.recover(book, "box 1", lots.named("R1"), lots.Recovered(43.1, 6.2, 0.3), ME)


@pytest.mark.slow
def test_powder_goes_round_and_mass_closes(book):
    _one_round(book)
    found = lots.account(book)
    assert (found.received, found.lots, found.boxes) == (100.0, 93.1, 0.0)
    assert (found.pieces, found.scrap, found.lost, found.gap) == (6.2, 0.3, 0.4, 0.0)


def test_age_is_mixed_by_mass_and_shifted_by_a_build(book):
    _one_round(book)
    there = lots.shelved(book)
    np.testing.assert_allclose(there["B1"].lot.exposures, [0.875, 0.125], rtol=1e-12)
    np.testing.assert_allclose(there["R1"].lot.exposures, [0.0, 0.875, 0.125], rtol=1e-12)
    assert (there["R1"].mass, there["B1"].mass, there["R1"].sources) == (43.1, 30.0, ("box 1",))
    assert [there[name].lot.origin for name in ("L1", "B1", "R1")] == ["received", "blended", "recovered"]


@pytest.mark.slow
def test_size_curves_are_added_not_percentiles(book):
    lots.receive(book, _lot("fine", curve=_curve(5, 10)), 10.0, ME)
    lots.receive(book, _lot("coarse", curve=_curve(20, 40)), 30.0, ME)
    lots.blend(book, {"fine": 10.0, "coarse": 30.0}, lots.named("both"), ME)
    curve = lots.shelved(book)["both"].lot.curve
    np.testing.assert_allclose(curve.size, [5e-6, 10e-6, 20e-6, 40e-6], rtol=1e-12)
    np.testing.assert_allclose(curve.finer, [0.0, 0.25, 0.25, 1.0], rtol=1e-12)


@pytest.mark.slow
def test_sieving_takes_the_coarse_end_away(book):
    lots.receive(book, _lot("L", curve=_curve(10, 20, 40)), 10.0, ME)
    lots.sieve(book, "L", lots.named("S"), lots.Sieved(7.5, 2.5), ME)
    there = lots.shelved(book)
    np.testing.assert_allclose(there["S"].lot.curve.finer, [0.0, 2 / 3, 1.0], rtol=1e-12)
    assert (there["S"].mass, there["L"].mass, lots.account(book).scrap) == (7.5, 0.0, 2.5)


@pytest.mark.slow
def test_figures_follow_only_if_all_sources_know_them(book):
    lots.receive(book, _lot("a", solid_density=_figure(8000.0), oxygen=_figure(4e-4)), 1.0, ME)
    lots.receive(book, _lot("b", solid_density=_figure(4000.0)), 1.0, ME)
    lots.blend(book, {"a": 1.0, "b": 1.0}, lots.named("c"), ME)
    lot = lots.shelved(book)["c"].lot
    np.testing.assert_allclose(lot.solid_density.value, 16000 / 3, rtol=1e-12)  # volumes add
    assert (lot.solid_density.standing, lot.oxygen) == ("worked", None)


@pytest.mark.slow
def test_what_is_measured_later_stands_before_what_was_worked_out(book):
    _one_round(book)
    lots.measure(book, Lot(name="R1", powder="", origin="", oxygen=_figure(6e-4)), ME)
    found = lots.shelved(book)["R1"]
    assert (found.lot.oxygen.value, found.measured) == (6e-4, ("oxygen",))


@pytest.mark.slow
def test_a_correction_changes_all_that_came_from_it(book):
    _one_round(book)
    lots.blend(book, {"L1": 40.0, "L2": 40.0}, lots.named("B1"), lots.Mover(person="A. Person", corrects=3))
    there = lots.shelved(book)
    np.testing.assert_allclose(there["R1"].lot.exposures, [0.0, 0.75, 0.25], rtol=1e-12)
    assert (there["L1"].mass, there["L2"].mass, lots.account(book).gap) == (20.0, 0.0, 0.0)
    assert entries.check(book).entries == 6


AGAIN = lots.Mover(person="A. Person", corrects=3)
REFUSED = {
    "does not hold that much": lambda book: lots.scrap(book, "L1", 999.0, ME),
    "more than 1% too much": lambda book: lots.sieve(book, "R1", lots.named("S"), lots.Sieved(44.0, 0.0), ME),
    "there is a lot of that name": lambda book: lots.receive(book, _lot("L1"), 1.0, ME),
    "a lot that is not there yet": lambda book: lots.charge(book, "box 2", {"L9": 1.0}, ME),
    "this box was emptied already": lambda book: lots.charge(book, "box 1", {"B1": 1.0}, ME),
    "no powder in box box 7": lambda book: lots.recover(
        book, "box 7", lots.named("R7"), lots.Recovered(1.0, 0.0), ME
    ),
    "must be above 0": lambda book: lots.receive(book, _lot("L3"), float("nan"), ME),
    "cannot be negative": lambda book: lots.recover(
        book, "box 1", lots.named("R9"), lots.Recovered(1.0, -1.0), ME
    ),
    "needs a person": lambda book: lots.receive(book, _lot("L3"), 1.0, lots.Mover(person="")),
    "entry 6 takes powder from": lambda book: lots.blend(book, {"R1": 1.0}, lots.named("B1"), AGAIN),
    "lot L1 does not hold": lambda book: lots.receive(
        book, _lot("L1"), 59.0, lots.Mover(person="A. Person", corrects=1)
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("message", REFUSED)
def test_what_cannot_be_is_refused_and_leaves_no_trace(book, message):
    _one_round(book)
    before = entries.check(book)
    with pytest.raises(InputError, match=message):
        REFUSED[message](book)
    assert entries.check(book).seal == before.seal


@pytest.mark.slow
def test_two_powders_are_not_poured_together(book):
    lots.receive(book, _lot("L1"), 1.0, ME)
    lots.receive(book, Lot(name="A1", powder="alumina", origin="received"), 1.0, ME)
    with pytest.raises(InputError, match="two cards"):
        lots.blend(book, {"L1": 1.0, "A1": 1.0}, lots.named("B"), ME)


def test_an_entry_that_makes_powder_is_found(book):
    _one_round(book)
    with book.writing() as connection:
        connection.execute(sa.update(tables.posting).where(tables.posting.c.id == 2).values(mg=70_000_000))
    with pytest.raises(LedgerError, match=r"entry 1 \(receive\) makes 10 kg out of nothing"):
        lots.account(book)
