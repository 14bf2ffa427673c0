"""Approved factors under other conditions: sizes shift by the law, doubt grows, and a person is told."""

import dataclasses

import numpy as np
import pytest

import furnace_goods as hand
from sagger import cards
from sagger.goods.factors import Factors
from sagger.goods.learned import Approved, Scatter
from sagger.goods.lot import Lot
from sagger.goods.order import Choices
from sagger.stations import bed, promise, shrink, sinter

K, U = np.array([1.191, 1.193, 1.228]), np.array([6e-4, 6e-4, 9e-4])
LEVER = hand.part((70.0, 22.0, 14.0), quantity=2)
POWDER, FURNACE = cards.load("powder", "steel-316l"), cards.load("furnace", "metal-batch")
COURSES = {}


def powder(peak=0.0, hold=0.0, green=0.0):
    """The card with another peak [K more], hold [min more] or green density [more]."""
    law = POWDER.sintering
    last = law.programme[-1]
    last = dataclasses.replace(last, target=last.target + peak, hold=last.hold + 60 * hold)
    packed = dataclasses.replace(law.green_density, value=law.green_density.value + green)
    law = dataclasses.replace(law, programme=(*law.programme[:-1], last), green_density=packed)
    return dataclasses.replace(POWDER, sintering=law)


def course(**changes):
    key = tuple(changes.items())
    if key not in COURSES:
        COURSES[key] = sinter.foretell(powder(**changes), FURNACE)
    return COURSES[key]


def cell(lot="", **changes):
    named = Lot(name=lot, powder=POWDER.name, origin="received") if lot else None
    return hand.cell(powder=powder(**changes), furnace=FURNACE, lot=named)


def measured(**changes):
    """Conditions of the card as it is, with the density that its programme reached."""
    of = shrink.present(cell(), Choices(), course())
    known = {
        "density": 0.964,
        "density_u": 0.005,
        "density_from": "measured",
        "basis": "the conditions of job 3",
    }
    return dataclasses.replace(of, **(known | changes))


def carry(choices=None, scatter=None, lot="", then=None, **changes):
    factors = Factors(
        k=K, u=U, material=POWDER.name, origin="approved factors", conditions=then or measured()
    )
    courses = shrink.Courses(course(), course(**changes))
    now = cell(lot=lot, **changes)
    return shrink.carry(factors, courses, now, choices or Choices(), scatter, (LEVER,))


def lots(value, count):
    numbers = dict.fromkeys(("bed", "furnace", "part", "gauge_mm"), 1e-3)
    return Scatter(
        material=POWDER.name,
        lot=value,
        lots=count,
        readings=9,
        beds=1,
        furnaces=1,
        origin="readings",
        **numbers,
    )


def told(carried):
    (finding,) = [one for one in carried.findings if one.what == "factors under other conditions"]
    return finding


@pytest.mark.slow
def test_under_the_same_conditions_sizes_stay_and_only_lots_differ():
    same = carry(then=measured(lot="L1"), lot="L1")
    np.testing.assert_allclose(same.shift, 1.0, rtol=1e-12)
    np.testing.assert_allclose(same.factors.k, K, rtol=1e-12)
    assert same.u_shift.max() < 1e-12 and (same.u_lot, same.u_untold) == (0.0, 0.0)
    assert told(same).level == "ok" and same.differs == ()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("changes", "least", "most"),
    [({"hold": 90}, -0.36, -0.05), ({"peak": -80}, 1.5, 3.5), ({"green": 0.01}, 0.2, 0.7)],
    ids=["90 min longer", "80 K colder", "denser lot"],
)
def test_other_conditions_shift_the_size_and_are_told(changes, least, most):
    """By the balance of mass alone, densities as the card states them: -0.36, +3.0 and +0.42 mm on 70 mm."""
    found = carry(lot="L2" if "green" in changes else "", **changes)
    moved = 70 * (found.shift[0] - 1)
    assert least <= moved <= most
    finding = told(found)
    assert finding.level == "look" and finding.weight >= 2
    assert f"{moved:+.3f} mm on 70 mm of block" in finding.text
    assert f"x {found.factors.k[0]:.4f}" in finding.text and 'factors = "carried"' in finding.remedy
    assert found.u_shift[0] > 1e-3
    np.testing.assert_allclose(found.factors.k * found.shift, K, rtol=1e-12)


@pytest.mark.slow
def test_a_longer_hold_makes_no_size_surer():
    doubts = [carry(hold=minutes).u_shift[0] for minutes in (30, 90, 300)]
    assert doubts == sorted(doubts)


def test_direction_of_shrinkage_is_that_of_the_factors():
    found = carry(peak=-80)
    then, now = 1 - 1 / K, 1 - 1 / found.factors.k
    np.testing.assert_allclose(now / now[0], then / then[0], rtol=1e-9)


def test_the_product_of_carried_factors_closes_the_balance_of_mass():
    found = carry(then=measured(density_from="law"), peak=-80)
    ratio = course(peak=-80).volume / course().volume
    np.testing.assert_allclose(np.prod(found.factors.k), np.prod(K) * ratio, rtol=1e-9)


def test_what_both_runs_share_drops_out_of_the_doubt():
    """A negative control: with worlds drawn apart the doubt of the ratio is much larger."""
    then, now = course(), course(peak=-80)
    mixed = now.volume_draws[np.random.default_rng(1).permutation(len(now.volume_draws))]
    apart = shrink.carry(
        Factors(k=K, u=U, material="m", origin="a", conditions=measured(density_from="law")),
        shrink.Courses(then, dataclasses.replace(now, volume_draws=mixed)),
        cell(peak=-80), Choices(), None, (LEVER,),
    )  # fmt: skip
    assert apart.u_shift[0] > 1.3 * carry(then=measured(density_from="law"), peak=-80).u_shift[0]


def test_a_density_that_was_measured_narrows_the_doubt():
    known, unknown = carry(hold=90), carry(then=measured(density_from="law"), hold=90)
    assert known.u_shift[0] < 0.8 * unknown.u_shift[0]


def test_green_densities_of_two_lots_are_doubted_apart():
    one, two = carry(then=measured(lot="L1"), lot="L1"), carry(then=measured(lot="L1"), lot="L2")
    of = POWDER.sintering.green_density
    np.testing.assert_allclose(two.u_shift, np.sqrt(2) * of.u / of.value / 3, rtol=1e-9)
    assert one.u_shift.max() < 1e-12


@pytest.mark.parametrize(
    ("scatter", "value", "basis"),
    [(None, 0.0015, "card"), (lots(0.004, 3), 0.004, "readings"), (lots(0.0, 1), 0.0015, "card")],
)
def test_lots_differ_as_measured_here_or_as_the_card_assumes(scatter, value, basis):
    found = carry(scatter=scatter)
    assert (found.u_lot, found.lot_basis) == (value, basis)
    words = "readings of this shop" if basis == "readings" else "assumed on the powder card"
    assert words in told(found).text


def test_what_no_law_counts_is_doubted_and_said():
    found = carry(choices=Choices(layer_um=60.0, saturation=0.9))
    assert found.u_untold == 0.0015 and found.shift[0] == pytest.approx(1.0, abs=1e-12)
    assert "layers of 60 µm instead of 50 µm" in told(found).text
    assert "saturation 90%" in told(found).text and told(found).level == "look"


def test_carried_factors_are_printed_where_that_was_chosen():
    found = carry(choices=Choices(factors="carried"), hold=90)
    assert found.printed == "carried" and "in place of the approved" in told(found).text
    assert np.all(found.factors.u > U) and "carried" in found.factors.origin


@pytest.mark.parametrize(
    ("k", "density", "weight", "words"),
    [
        ((0.84, 0.84, 0.82), 0.964, 3, "below the green density"),
        ((1.30, 1.30, 1.34), 0.964, 3, "above full density"),
        ((1.10, 1.10, 1.13), 0.964, 3, "more than the doubts explain"),
        ((1.16, 1.16, 1.19), 0.964, 2, "standard uncertainties apart"),
        ((1.191, 1.193, 1.228), 0.964, 0, "they agree"),
    ],
)
def test_factors_and_densities_are_held_against_each_other(k, density, weight, words):
    of = measured(density=density)
    found = shrink.balance(Factors(k=np.array(k), u=U, material="m", origin="a", conditions=of))
    assert found.weight == weight and words in found.text
    assert f"{of.green_density * np.prod(k):.1%} of full density" in found.text


def test_an_old_approval_against_the_balance_is_told_in_every_plan():
    factors = Factors(k=np.full(3, 0.84), u=U, material=POWDER.name, origin="a", conditions=measured())
    found = shrink.carry(factors, shrink.Courses(course(), course()), cell(), Choices(), None, (LEVER,))
    assert found.findings[0].what == "balance of mass" and found.findings[0].weight == 3


def test_powder_of_then_is_the_card_with_its_densities_and_grains():
    then = measured(green_density=0.57, green_density_u=0.002, grain=20e-6)
    before = bed.earlier(POWDER, then).sintering
    assert (before.green_density.value, before.green_density.u) == (0.57, 0.002)
    assert before.grain_size.value == 20e-6
    assert before.viscosity_factor.value > POWDER.sintering.viscosity_factor.value
    same = bed.earlier(POWDER, measured()).sintering
    assert same.viscosity_factor.value == POWDER.sintering.viscosity_factor.value


def chances(carried, printed):
    """Chance and shares along x of the lever, printed with these factors."""
    greens = (hand.green(LEVER, printed),)
    builds, now = (hand.build(greens),), hand.cell(powder=POWDER, furnace=FURNACE)
    fired = hand.fire(greens, POWDER, FURNACE)
    known = Approved(factors=printed, carried=carried)
    (first, *_) = promise.state(hand.order(greens), greens, builds, fired, now, known).sizes
    return first.chance, dict(first.shares)


@pytest.mark.slow
def test_the_promise_falls_where_the_size_shifts_and_names_why():
    alike, cold = carry(then=measured(lot="L1"), lot="L1"), carry(peak=-80)
    before, _ = chances(alike, alike.approved)
    after, shares = chances(cold, cold.approved)
    right, _ = chances(cold, cold.factors)
    assert after < 0.2 < right < before
    assert shares["other conditions"] > 0.5 and shares["lot"] > 0
