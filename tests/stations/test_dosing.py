import dataclasses
import re
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.stations import dosing

by_hand = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("by_hand.py"))))


def planned(stack=None, share=0.2, choices=None, **cards):
    stack = stack or by_hand.stack(in_box=cards.get("box"))
    hand = (cards.get(name) or getattr(by_hand, name)() for name in ("powder", "binder", "head"))
    return dosing.plan(stack, by_hand.tally(stack, share), *hand, choices or by_hand.choices())


def found(dose):
    return {finding.what: finding for finding in dose.findings}


def test_drop_meets_the_saturation_asked():
    dose = planned()
    np.testing.assert_allclose(dose.drop, 14.8185e-15, rtol=1e-5)  # 0.7 x 31.75^2 x 50 x 0.42 um3
    assert dose.saturation == pytest.approx(0.70, rel=1e-12, abs=0)
    assert {each.level for each in dose.findings} == {"ok"}
    assert dose.thin_to == 1.0 and dose.level_saturations == (dose.saturation,)


def test_engineers_saturation_goes_before_the_cards():
    dose = planned(choices=by_hand.choices(saturation=0.9))
    assert dose.saturation_asked == 0.9
    np.testing.assert_allclose(dose.drop, 14.8185e-15 * 9 / 7, rtol=1e-5)


def test_binder_is_drops_times_drop():
    dose = planned()
    assert dose.drops == int(dose.drops_by_layer.sum())
    np.testing.assert_allclose(dose.binder, dose.drops * dose.drop, rtol=1e-12)
    np.testing.assert_allclose(dose.solids_mass, 0.1 * 1050 * dose.binder, rtol=1e-12)
    pieces = 0.2 * 0.4 * 0.25 * 100 * 50e-6  # m3; 0.294 mL of binder per cm3 of piece
    np.testing.assert_allclose(dose.binder, 0.294 * pieces, rtol=1e-3)


def test_powder_closes():
    dose = planned()
    np.testing.assert_allclose(dose.powder_fed, 0.4 * 0.25 * 0.005 * 0.58 * 7950 * 1.2, rtol=1e-12)
    out = dose.powder_in_pieces + dose.powder_lost + dose.powder_back
    np.testing.assert_allclose(out, dose.powder_fed, rtol=1e-12)
    np.testing.assert_allclose(dose.powder_in_pieces, 0.2 * dose.powder_in_box, rtol=1e-3)
    np.testing.assert_allclose(dose.powder_lost, 0.008 * dose.powder_loose, rtol=1e-12)


def test_head_too_small_prints_less_and_says_so():
    dose = planned(head=by_hand.head(drop_most="10 pL"))
    np.testing.assert_allclose(dose.drop, 10e-15, rtol=1e-12)
    np.testing.assert_allclose(dose.saturation, 0.7 * 10 / 14.8185, rtol=1e-4)
    finding = found(dose)["saturation too low"]
    assert "47%" in finding.text and "33%" in finding.remedy


def test_head_too_coarse_prints_more_and_asks_to_thin():
    dose = planned(head=by_hand.head(drop_least="30 pL"))
    np.testing.assert_allclose(dose.saturation, 0.7 * 30 / 14.8185, rtol=1e-4)
    finding = found(dose)["saturation too high"]
    assert "142%" in finding.text and "49 %" in finding.remedy


def test_binder_of_another_kind_stops():
    finding = found(planned(powder=by_hand.powder(kind="sand")))["binder and powder"]
    assert finding.level == "stop"


@pytest.mark.parametrize(
    ("layer_mm", "what", "level"),
    [(0.031, "layer under d90", "stop"), (0.05, None, None), (0.0325, None, None)],
)
def test_layer_against_grains(layer_mm, what, level):
    findings = found(planned(by_hand.stack(layer_mm=layer_mm)))
    assert [(f.what, f.level) for f in findings.values() if "layer" in f.what] == (
        [(what, level)] if what else []
    )


def test_layer_under_twice_d50_is_looked_at():
    finding = found(planned(powder=by_hand.powder(d50="28 um")))["layer under 2 d50"]
    assert finding.level == "look" and finding.limit == pytest.approx(56, rel=1e-9, abs=0)


@pytest.mark.parametrize(
    ("change", "what", "level"),
    [
        ({"viscosity": "60 mPa.s"}, "drop too thick", "stop"),
        ({"viscosity": "1 mPa.s", "surface_tension": "72 mN/m"}, "drop too thin", "stop"),
        ({"viscosity": "3 mPa.s"}, "drop satellites", "look"),
        ({"contact_angle": "95 deg"}, "binder does not wet", "stop"),
        ({"dry_time": "0.1 ms"}, "slow soaking", "look"),
    ],
)
def test_binder_that_jets_or_wets_badly_is_found(change, what, level):
    assert found(planned(binder=by_hand.binder(**change)))[what].level == level


def test_slow_drop_stops():
    slow = found(planned(head=by_hand.head(drop_speed="1 m/s")))["drop too slow"]
    assert slow.level == "stop"
    least = re.search(r"at ([\d.]+) m/s or faster", slow.remedy)[1]
    for speed, stays in ((float(least) + 0.06, False), (float(least) - 0.06, True)):
        faster = found(planned(head=by_hand.head(drop_speed=f"{speed:.3f} m/s")))
        assert ("drop too slow" in faster) is stays


@pytest.mark.parametrize(("gap", "closes"), [("58 um", True), ("59 um", False)])
def test_wide_drops_close_narrow_gaps(gap, closes):
    # above 100 % a half ball of (3 x 80 pL / (2 pi 0.42))^(1/3) = 44.97 um is full: 29.10 past its cell
    cards = {"powder": by_hand.powder(least_gap=gap), "head": by_hand.head(drop_least="80 pL")}
    assert ("bleeding" in found(planned(**cards))) is closes


def test_bed_pulls_with_kilopascals():
    dose = planned()
    sauter = 16e-6 * np.exp(-(0.540866**2) / 2)
    np.testing.assert_allclose(dose.pore_radius, sauter * 0.42 / 0.58 / 3, rtol=1e-5)
    np.testing.assert_allclose(
        dose.capillary_pressure * dose.pore_radius, 2 * 0.035 * np.cos(np.pi / 6), rtol=1e-9
    )
    assert 1e-5 < dose.soak_time < 1e-2


def test_pieces_larger_than_the_box_are_refused():
    with pytest.raises(LawError, match="do not fit"):
        planned(share=1.2)


def test_binder_is_counted_from_the_volume_of_each_level():
    stack, volumes = by_hand.stack(count=3), ("10 pL", "24 pL", "30 pL")
    head = dataclasses.replace(by_hand.head(), levels=tuple(map(by_hand.figure, volumes)))
    drops = np.array([[5, 4, 3], [0, 0, 900], [7, 0, 0]]) * 1000
    tally = dataclasses.replace(by_hand.tally(stack), levels=drops)
    rest = (by_hand.powder(), by_hand.binder(), head, by_hand.choices())
    dose = dosing.plan(stack, tally, *rest)
    np.testing.assert_allclose(dose.level_drops, dose.drop * np.array([1 / 3, 0.8, 1.0]), rtol=1e-12)
    np.testing.assert_allclose(dose.binder, (12 / 3 + 4 * 0.8 + 903) * 1000 * dose.drop, rtol=1e-12)
    np.testing.assert_allclose(dose.binder_most, 900e3 * dose.drop, rtol=1e-12)
    np.testing.assert_allclose(dose.binder_mass, 1050 * dose.binder, rtol=1e-12)
    assert dose.drops == 919_000


def with_u(card, **given):
    """A card with standard uncertainties."""
    return dataclasses.replace(
        card, **{name: dataclasses.replace(getattr(card, name), u=u) for name, u in given.items()}
    )


def test_doubt_of_saturation_is_that_of_pores_and_drop():
    dose = planned(powder=with_u(by_hand.powder(), packing=0.021), head=with_u(by_hand.head(), drop=1.2e-15))
    np.testing.assert_allclose(dose.saturation_u / dose.saturation, np.hypot(0.021 / 0.42, 0.04), rtol=1e-9)


def test_a_head_too_coarse_says_how_far_to_thin_and_thinned_it_prints_what_is_asked():
    dose = planned(head=by_hand.head(drop_least="29.637 pL"))
    np.testing.assert_allclose(dose.thin_to, 0.5, rtol=1e-5)
    assert 'skin_saturation = "50 %"' in found(dose)["saturation too high"].remedy
    np.testing.assert_allclose(dose.thin_to * dose.saturation, dose.saturation_asked, rtol=1e-12)


def test_each_level_prints_its_share_of_the_largest():
    levels = tuple(map(by_hand.figure, ("10 pL", "24 pL", "30 pL")))
    head = dataclasses.replace(by_hand.head(), levels=levels)
    stack = by_hand.stack(count=3)
    tally = dataclasses.replace(by_hand.tally(stack), levels=np.ones((3, 3), np.int64))
    dose = dosing.plan(stack, tally, by_hand.powder(), by_hand.binder(), head, by_hand.choices())
    np.testing.assert_allclose(dose.level_saturations, 0.7 * np.array([1 / 3, 0.8, 1.0]), rtol=1e-9)
    np.testing.assert_allclose(dose.binder_by_layer.sum(), dose.binder, rtol=1e-12)


def test_the_head_prints_from_its_smallest_drop_to_its_largest():
    finding = found(planned())["saturation range"]
    np.testing.assert_allclose(finding.limit, 100 * 80 / (31.75**2 * 50 * 0.42e-3), rtol=1e-9)


def test_surplus_over_what_the_bed_holds_is_looked_at_once_its_constants_are_known():
    assert planned().equilibrium is None and planned().bleed_most == 0.0
    known = {"entry_pressure": "5 kPa", "pore_exponent": "0.5 -", "residual_saturation": "5 %"}
    dose = planned(powder=by_hand.powder(**known))
    held = 0.05 + 0.95 * (5e3 / dose.capillary_pressure) ** 0.5
    np.testing.assert_allclose(dose.equilibrium, held, rtol=1e-12)
    assert dose.bleed_most == pytest.approx(5.4e-3, rel=0.05, abs=0)  # soaked within 5 s of drying, Washburn
    small = planned(share=0.0001, powder=by_hand.powder(**known))
    side = np.sqrt(0.0001 * 0.4 * 0.25)  # no pieces in the layout by hand: the whole section is one square
    np.testing.assert_allclose(small.bleed_most, side / 2 * (np.sqrt(0.7 / held) - 1), rtol=1e-2)
    assert found(dose)["more binder than the bed holds"].level == "look"


def test_drop_spreads_to_the_half_ball_it_fills():
    dose = planned()
    np.testing.assert_allclose(2 / 3 * np.pi * dose.spread**3 * 0.42 * 0.7, dose.drop, rtol=1e-9)
    np.testing.assert_allclose(dose.overreach, max(0.0, dose.spread - 31.75e-6 / 2), rtol=1e-9)
    assert 0 < dose.layer_soak < 0.01


def test_a_ladder_of_coupons_goes_before_the_suction_law():
    known = {"entry_pressure": "5 kPa", "pore_exponent": "0.5 -", "residual_saturation": "5 %"}
    dose = planned(powder=by_hand.powder(**known, held_saturation="65 %"))
    np.testing.assert_allclose(dose.equilibrium, 0.65, rtol=1e-12)


def test_a_binder_inside_the_window_says_so_with_its_limits():
    finding = found(planned())["jetting window"]
    assert finding.level == "ok" and "Z from 1 to 10" in finding.text
