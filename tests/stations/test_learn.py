"""From readings to proposed factors and a map of the bed, in a shop whose truth is known."""

from __future__ import annotations

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest

from sagger import cards
from sagger.errors import InputError
from sagger.goods.factors import Factors
from sagger.stations.measure import bed_map, learn

SHOP = runpy.run_path(str(Path(__file__).parents[2] / "examples" / "invented_shop.py"))
POWDER, BOX = cards.load("powder", "steel-316l", ()), cards.load("box", "box-400x250x250", ())
BOXES, LOTS = ("1", "2", "3", "4"), ("A", "A", "B", "C")
TRUE = 1 / SHOP["SHRUNK"]


def factors(k=TRUE, u=0.016, origin="card"):
    return Factors(k=np.array(k), u=np.full(3, u), material="steel-316l", origin=origin)


def readings(seed=1, boxes=BOXES, lots=LOTS, sizes=(12.0, 20.0, 28.0), k=None, **truth):
    shop = SHOP["Shop"](SHOP["Truth"](**truth), seed)
    k = np.array([1.19, 1.19, 1.22]) if k is None else k
    return SHOP["coupons"](shop, boxes, lots, SHOP["nine_places"](), k, sizes)


@pytest.fixture(scope="module")
def proposal():
    return learn(*readings(), factors((1.19, 1.19, 1.22)), POWDER, BOX)


@pytest.mark.slow
def test_factors_are_found_again_within_their_uncertainty(proposal):
    for axis, true in zip(proposal.axes, TRUE, strict=True):
        assert abs(axis.found - true) < 3 * axis.found_u
        assert axis.verdict == "change"


@pytest.mark.slow
def test_creep_of_the_binder_is_told_from_shrinkage(proposal):
    x, y, z = proposal.axes
    for axis, ratio in ((x, SHOP["SHRUNK"][0]), (y, SHOP["SHRUNK"][1])):
        assert abs(axis.offset_mm - 2 * 0.03 * ratio) < 3 * axis.offset_u_mm
    assert z.offset_mm == 0.0
    assert any("along x sizes are off" in note and "um of bleed" in note for note in proposal.notes)


@pytest.mark.slow
def test_scatter_is_shared_out_as_it_was_put_in(proposal):
    put = SHOP["Truth"]().packed(SHOP["nine_places"]())
    np.testing.assert_allclose(proposal.scatter.bed, np.cbrt(put).std(ddof=1), rtol=0.15)
    np.testing.assert_allclose(proposal.scatter.part, 4e-4, rtol=0.3)
    assert proposal.scatter.furnace > proposal.scatter.part


@pytest.mark.slow
def test_the_bed_is_mapped_as_it_was_packed(proposal):
    at = np.array([(x, y, 20.0) for x in (60.0, 200.0, 330.0) for y in (60.0, 190.0)])
    seen = bed_map.over(proposal.bed, at).mean / proposal.bed.reference
    truth = SHOP["Truth"]()
    put = truth.packed(at) / truth.packed(SHOP["nine_places"]()).mean()
    np.testing.assert_allclose(seen, put, rtol=0, atol=1e-3)
    assert np.ptp(put) > 0.015


@pytest.mark.slow
def test_factors_by_place_reduce_the_scatter_as_predicted(proposal):
    """Many pieces all over the bed, sized by the map or not: their scatter is what the proposal says."""
    random = np.random.default_rng(4)
    at = np.column_stack([random.uniform(25, 375, 4000), random.uniform(25, 225, 4000), np.full(4000, 20.0)])
    truth = SHOP["Truth"]()
    own = np.cbrt(truth.packed(at)) * (1 + random.normal(0, 4e-4, 4000))
    places = np.array([SHOP["Shop"](truth, 1).places[name] for name in SHOP["PLACES"]])
    own *= 1 + random.choice(places, 4000)
    sized = np.cbrt(proposal.bed.reference / bed_map.over(proposal.bed, at).mean)
    found = [50 * np.hypot(np.std(values), 0.008 / 50) for values in (own, own * sized)]
    np.testing.assert_allclose(found[0], proposal.before_scatter_mm, rtol=0.15)
    np.testing.assert_allclose(found[1], proposal.place_scatter_mm, rtol=0.25)
    assert found[1] < 0.75 * found[0]


def test_nothing_is_learnt_from_one_part():
    some, drawn = readings(boxes=("1",), lots=("A",))
    mine = [n for n, reading in enumerate(some) if reading.piece == "steps 1-01"]
    with pytest.raises(InputError, match="3 pieces"):
        learn(tuple(some[n] for n in mine), drawn[mine], factors(), POWDER, BOX)


@pytest.mark.slow
def test_noise_is_not_chased():
    """Factors in force that are right stay as they are, though the coupons' mean lies a little off."""
    some, drawn = readings(creep_mm=0.0, sizes=(28.0,))
    found = learn(some, drawn, factors(u=0.0005, origin="approved"), POWDER, BOX)
    assert [axis.verdict for axis in found.axes] == ["keep"] * 3
    np.testing.assert_allclose(found.factors.k, TRUE, rtol=1e-12)
    assert all(axis.found != axis.before for axis in found.axes)


@pytest.mark.slow
def test_what_contradicts_the_factors_in_force_is_blocked():
    some, drawn = readings(creep_mm=0.0, sizes=(28.0,))
    found = learn(some, drawn, factors(TRUE * 1.02, u=0.0005, origin="approved"), POWDER, BOX)
    assert [axis.verdict for axis in found.axes] == ["blocked"] * 3
    np.testing.assert_allclose(found.factors.k, TRUE * 1.02, rtol=1e-12)


def test_the_update_is_bayes_and_says_what_it_would_do_to_a_stable_process():
    some, drawn = readings(creep_mm=0.0, sizes=(28.0,))
    x = learn(some, drawn, factors(TRUE + 0.01), POWDER, None).axes[0]
    np.testing.assert_allclose(x.k, x.before + x.weight * (x.found - x.before), rtol=1e-12)
    np.testing.assert_allclose(x.inflation, 2 / (2 - x.weight), rtol=1e-12)


@pytest.mark.slow
def test_what_readings_of_one_calliper_share_is_not_averaged_away():
    some, drawn = readings(creep_mm=0.0, sizes=(28.0,))
    shared = tuple(dataclasses.replace(each, u_shared=each.value * 5e-4, instrument="c") for each in some)
    alone, together = (learn(rows, drawn, factors(), POWDER, None).axes[0] for rows in (some, shared))
    wanted = np.hypot(alone.found_u, 5e-4 * alone.found)
    np.testing.assert_allclose(together.found_u, wanted, rtol=1e-9)


def test_one_lot_says_nothing_of_lots_and_is_told_so():
    some, drawn = readings(boxes=("1", "2"), lots=("A", "A"), sizes=(28.0,))
    found = learn(some, drawn, factors(), POWDER, None)
    assert any("one lot" in note for note in found.notes)
    assert found.scatter.lot == 0.0


@pytest.mark.slow
def test_cups_map_the_bed_without_any_furnace():
    at = SHOP["nine_places"]()
    some, drawn = readings(boxes=("1",), lots=("A",), sizes=(28.0,))
    density = 0.55 * SHOP["Truth"]().packed(at) * POWDER.solid_density.value
    cups = tuple(
        dataclasses.replace(
            some[0], kind="density", state="green", value=float(value), u=2.0, axis="", at_mm=tuple(place)
        )
        for place, value in zip(at.tolist(), density, strict=True)
    )
    found = learn(some + cups, np.append(drawn, np.zeros(9)), factors(), POWDER, BOX)
    np.testing.assert_allclose(found.bed.reference, 0.55 * SHOP["Truth"]().packed(at).mean(), rtol=1e-9)
    assert found.bed.noise >= 2.0 / POWDER.solid_density.value
