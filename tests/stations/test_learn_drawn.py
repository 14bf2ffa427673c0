"""Factors and bleed from every length of a drawing, in a shop whose truth is known.

Readings are made by moving the points of the drawing's faces, each piece by its own factors and bleed.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.stats import binom
from scipy.stats import t as student

import drawn_shop
from sagger import cards
from sagger.errors import InputError
from sagger.geometry.surface import lookup
from sagger.goods import balloon
from sagger.goods.factors import Factors
from sagger.goods.reading import Reading
from sagger.stations.measure import learn_drawn
from sagger.stations.measure import length_levers as levers
from sagger.stations.measure.length_levers import Levered, Printed

POWDER = dataclasses.replace(cards.load("powder", "steel-316l", ()), bleed_doubt=None)
RATIO, BLEED, TAKEN = np.array([0.8403, 0.8382, 0.8195]), 0.031, 0.020  # truth, and what the order took off
K = np.array([1.19, 1.19, 1.22])
LOT, FURNACE, PIECE, FACE, GAUGE = 6e-4, 4e-4, 3e-4, 0.004, 0.003  # relative; of a face and of the probe [mm]
TURNED = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])  # a quarter turn about z
PRINTED = Printed(turned=TURNED, k=K, taken=(TAKEN, 0.0))


@pytest.fixture(scope="module")
def part():
    return drawn_shop.block()


def sizes(part):
    pairs = zip(balloon.balloons(part.asked), part.asked, strict=True)
    return [(number, one) for number, one in pairs if levers.of_feature(one, PRINTED) is not None]


def made(one, own, bleed=BLEED, rng=None):
    """A size of one piece, its faces moved [mm]: every point by factors, and out across the bed by bleed."""
    points, normals = one.points @ TURNED.T, one.normals @ TURNED.T
    flat = np.hypot(normals[:, 0], normals[:, 1])
    aside = normals * (1, 1, 0) / np.maximum(flat, 1e-12)[:, None]
    placed = (points * K + (bleed - TAKEN) * aside) * RATIO * (1 + own)
    out = ((placed - points) * normals).sum(axis=1)
    if rng is not None:
        of_face = {number: rng.normal(0, FACE) for number in np.unique(one.faces)}
        out = out + np.array([of_face[number] for number in one.faces])
    return one.nominal + float((one.weights @ out).mean())


def shop(part, seed, lots=6, pieces=3, only=None):
    """So many pieces of each lot in two places of the furnace, every size of the drawing read once."""
    rng = np.random.default_rng(seed)
    rows = []
    for lot in range(lots):
        of_lot = rng.normal(0, LOT)
        places = rng.normal(0, FURNACE, 4)
        for piece in range(pieces):
            place = int(rng.integers(4))
            own = of_lot + places[place] + rng.normal(0, PIECE)
            for number, one in sizes(part):
                if only and str(number) not in only:
                    continue
                value = made(one, own, rng=rng) + rng.normal(0, GAUGE)
                reading = Reading(
                    kind="dimension", state="sintered", value=value * 1e-3, u=GAUGE * 1e-3, unit="mm",
                    box=f"B{lot}", piece=f"P{piece}", feature=f"{number} size", nominal=one.nominal * 1e-3,
                    lot=f"L{lot}", furnace="F", load=f"R{lot}", place=f"{lot}-{place}", instrument="probe",
                    at_mm=(40.0 * piece, 0.0, 0.0), number=len(rows) + 1,
                )  # fmt: skip
                rows.append(Levered(reading, levers.of_feature(one, PRINTED)))
    return rows


def before(k=K, u=0.016):
    return Factors(k=np.array(k), u=np.full(3, u), material="steel-316l", origin="card")


def learnt(rows, box=None):
    return learn_drawn(rows, tuple(one.reading for one in rows), before(), POWDER, box)


def test_levers_are_those_of_the_drawing(part):
    """Bores by -2 of bleed, a pin and outsides by 2, a step by nothing; each lies along its machine axis."""
    of = {str(number): levers.of_feature(one, PRINTED) for number, one in sizes(part)}
    assert set(of) == {"1.1", "1.2", "2", "3", "4", "5", "6"}
    across = 2 / K[0]
    assert [of[n].bleed for n in ("1.1", "2", "3", "4", "5", "6")] == pytest.approx(
        [-across, across, across, across, 0.0, 0.0], abs=1e-9
    )
    np.testing.assert_allclose(of["3"].finished, (0, 40, 0), atol=1e-9)  # the part is turned by a quarter
    np.testing.assert_allclose(of["1.1"].finished, (4, 4, 0), atol=1e-3)
    np.testing.assert_allclose(of["6"].finished, (0, 0, 4), atol=1e-9)
    assert [of[n].soak * K[2] for n in ("5", "6", "3")] == pytest.approx([1, 0, 0], abs=1e-9)


def test_a_bore_that_is_really_moved_and_fitted_is_what_its_lever_says(part):
    one = next(one for number, one in sizes(part) if str(number) == "1.1")
    points, normals = one.points @ TURNED.T, one.normals @ TURNED.T
    own = points[one.faces == one.faces[0]], normals[one.faces == one.faces[0]]
    moved = (own[0] * K + (BLEED - TAKEN) * own[1]) * RATIO
    centre = moved.mean(axis=0)
    _, _, radius = lookup.cylinder(moved, centre, np.array([0.0, 0.0, 1.0]), 4.0)
    lever = levers.of_feature(one, PRINTED)
    told = RATIO @ lever.drawn + (BLEED - TAKEN) * lever.bleed
    np.testing.assert_allclose(told, 2 * radius, rtol=0, atol=1e-4)  # 0.1 um


@pytest.fixture(scope="module")
def proposal(part):
    return learnt(shop(part, 1))


def test_factors_and_bleed_are_found_again_within_their_doubt(proposal):
    for axis, true in zip(proposal.axes, 1 / RATIO, strict=True):
        assert abs(axis.found - true) < 3 * axis.found_u < 3 * 0.004
        assert axis.pieces == 18
    bleed = proposal.bleed
    assert abs(bleed.found_mm - BLEED) < 3 * bleed.u_mm < 3 * 0.002
    assert bleed.p < 1e-6 and bleed.taken_mm == TAKEN
    assert (bleed.bores, bleed.outsides, bleed.steps) == (36, 54, 36)
    assert bleed.soaking_mm is not None
    scatter = proposal.scatter
    assert 0.3 < scatter.lot / LOT < 3 and (scatter.lots, scatter.readings) == (6, 126)


def test_bleed_is_not_told_from_outsides_of_one_size_alone(part):
    """Length, width and the step: each along an axis of its own."""
    found = learnt(shop(part, 2, only=("3", "4", "6")))
    assert found.bleed is None and any("read bores and outsides" in note for note in found.notes)


def test_bores_tell_bleed_far_better_than_outsides_do(part):
    both = learnt(shop(part, 3)).bleed.u_mm
    outsides = learnt(shop(part, 3, only=("2", "3", "4", "5", "6"))).bleed.u_mm
    assert both < 0.6 * outsides


@pytest.mark.slow
def test_the_doubt_holds_the_truth_as_often_as_it_says(part):
    """Of 60 shops the 95 % intervals of three factors and of bleed, each within binomial limits."""
    inside, shops = np.zeros(4, int), 60
    for seed in range(100, 100 + shops):
        found = learnt(shop(part, seed, lots=5, pieces=3))
        values = [(axis.found, axis.found_u, axis.freedom) for axis in found.axes]
        values.append((found.bleed.found_mm, found.bleed.u_mm, found.bleed.freedom))
        for n, ((value, u, freedom), true) in enumerate(zip(values, (*(1 / RATIO), BLEED), strict=True)):
            inside[n] += abs(value - true) <= student.ppf(0.975, freedom) * u
    assert (inside >= binom.ppf(0.001, shops, 0.95)).all(), inside
    assert inside.sum() <= binom.ppf(0.9999, 4 * shops, 0.975)  # nor is it far too wide


def test_what_readings_of_one_probe_share_is_not_averaged_away(part):
    rows = shop(part, 4)
    scaled = [
        one._replace(reading=dataclasses.replace(one.reading, u_shared=one.reading.value * 5e-4))
        for one in rows
    ]
    alone, together = learnt(rows).axes[0], learnt(scaled).axes[0]
    np.testing.assert_allclose(together.found_u, math.hypot(alone.found_u, 5e-4 * alone.found), rtol=1e-3)


def test_two_readings_of_one_size_count_as_their_mean(part):
    rows = shop(part, 5)
    twice = [
        one._replace(reading=dataclasses.replace(one.reading, value=one.reading.value + off))
        for one in rows
        for off in (2e-6, -2e-6)
    ]
    one, two = learnt(rows), learnt(twice)
    np.testing.assert_allclose(two.axes[0].found, one.axes[0].found, rtol=1e-6)
    assert two.scatter.readings == one.scatter.readings


def test_overall_sizes_take_part_beside_the_drawing(part):
    rows = shop(part, 6, only=("1.1", "1.2", "3", "4", "6"))
    with pytest.raises(InputError, match="pieces with a sintered length along x"):
        learnt([one for one in rows if one.reading.feature.startswith("6")])
    with pytest.raises(InputError, match="factor along x cannot be told"):
        learnt([one for one in rows if one.reading.feature[0] in "16"])
    lengths = [
        Levered(
            dataclasses.replace(
                one.reading, kind="length", axis="z", feature="", nominal=12e-3,
                value=1e-3 * (RATIO[2] * K[2] * 12.0),
            ),
            levers.of_length(2, 12.0, PRINTED),
        )
        for one in rows
        if one.reading.feature.startswith("6")
    ]  # fmt: skip
    z = learnt([*rows, *lengths]).axes[2]
    assert z.readings == 36 and abs(z.found - 1 / RATIO[2]) < 3 * z.found_u


def test_nothing_is_learnt_from_one_part(part):
    rows = [one for one in shop(part, 7) if (one.reading.box, one.reading.piece) == ("B0", "P0")]
    with pytest.raises(InputError, match="3 pieces"):
        learnt(rows)
