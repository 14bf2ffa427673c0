"""The bed of a lot: what is used of what was measured, and what follows from it down the line."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

import furnace_goods as hand
from sagger.goods.figure import Figure
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.order import Choices
from sagger.physics.powder import grains, packing, spread_bed
from sagger.stations import bed, shrink

by_hand = runpy.run_path(str(Path(__file__).with_name("by_hand.py")))
POWDER = dataclasses.replace(by_hand["powder"](), sintering=hand.sintering())


def figure(value, u=0.0, standing="measured"):
    return Figure(value=value, u=u, printed=f"{value}", source="lab", where="test", standing=standing)


def curve(d10=8.0, d90=32.0):
    law = grains.lognormal(d10 * 1e-6, d90 * 1e-6)
    size = law.median * np.exp(np.linspace(-3, 3, 25) * law.sigma)
    return SizeCurve(size=size, finer=ndtr(np.linspace(-3, 3, 25)), method="laser diffraction")


def spread(choices=None, **measured):
    lot = Lot(name="L", powder=POWDER.name, origin="received", **measured)
    return bed.spread(POWDER, lot, choices or Choices())


def found(made):
    return {each.what: each for each in made.findings}


@pytest.mark.slow
def test_without_a_lot_the_card_stands_unchanged():
    made = bed.spread(POWDER, None, Choices())
    assert made.powder is POWDER and made.findings == () and made.lot == ""
    assert (made.packing, made.green) == (POWDER.packing.value, POWDER.sintering.green_density.value)


@pytest.mark.slow
def test_a_bed_lies_between_poured_and_tapped():
    made = spread(apparent_density=figure(4200.0, 30.0), tap_density=figure(5000.0, 40.0))
    np.testing.assert_allclose(made.packing, 4600 / 7950, rtol=1e-12)
    u = np.sqrt(400**2 / 3 + 15**2 + 20**2) / 7950
    np.testing.assert_allclose(made.packing_u, u, rtol=1e-9)
    np.testing.assert_allclose(made.hausner, 1.1905, rtol=1e-4)
    assert (
        made.flow == "fair" and found(made)["flow"].level == "ok" and made.standing == "assumed"
    )  # the solid


@pytest.mark.slow
@pytest.mark.parametrize(
    ("measured", "low", "high"),
    [({"tap_density": 5000.0}, 5000 / 1.34, 5000), ({"apparent_density": 4000.0}, 4000, 4000 * 1.34)],
)
def test_one_density_says_less_and_its_doubt_says_so(measured, low, high):
    made = spread(**{name: figure(value) for name, value in measured.items()})
    np.testing.assert_allclose(made.packing, (low + high) / 2 / 7950, rtol=1e-12)
    np.testing.assert_allclose(made.packing_u, (high - low) / 2 / np.sqrt(3) / 7950, rtol=1e-9)


@pytest.mark.slow
def test_coupons_of_the_lot_go_before_all_else():
    made = spread(
        green_density=figure(0.571, 0.003), tap_density=figure(5000.0), apparent_density=figure(4200.0)
    )
    np.testing.assert_allclose([made.green, made.green_u], [0.571, 0.003], rtol=1e-12)
    np.testing.assert_allclose(made.packing, 0.571 * 0.58 / POWDER.sintering.green_density.value, rtol=1e-12)
    assert made.powder.sintering.green_density.source == "lot L"


@pytest.mark.slow
def test_the_cards_own_grains_give_the_cards_own_packing_by_every_model():
    made = spread(curve=curve())
    np.testing.assert_allclose([value for _, value in made.models], 0.58, atol=0.004, rtol=0)
    assert [name for name, _ in made.models] == ["linear", "mixture", "compressible"]


@pytest.mark.slow
def test_wider_grains_pack_closer_and_the_models_agree_on_the_direction():
    narrow, wide = spread(curve=curve(10, 25)), spread(curve=curve(5, 60))
    for (name, low), (_, high) in zip(narrow.models, wide.models, strict=True):
        assert low < high, name
    assert narrow.green < wide.green and "size curve" in wide.basis
    assert found(wide)["lot without a density"].level == "look"


@pytest.mark.slow
def test_a_denser_lot_needs_less_oversize_and_both_know_the_same_doubt():
    factors = [
        shrink.predict(spread(green_density=figure(green, 0.002)).powder, Choices(), "L")
        for green in (0.54, 0.58)
    ]
    assert np.all(factors[1].k < factors[0].k) and factors[0].lot == "L"
    np.testing.assert_allclose(np.prod(factors[0].k) / np.prod(factors[1].k), 0.58 / 0.54, rtol=1e-9)
    wide = shrink.predict(spread(green_density=figure(0.54, 0.02)).powder, Choices(), "L")
    assert np.all(wide.u > factors[0].u)


@pytest.mark.slow
def test_powder_that_sticks_is_looked_at_and_models_are_called_too_hopeful():
    finding = found(spread(apparent_density=figure(3600.0), tap_density=figure(4700.0)))["flow"]
    assert finding.level == "look" and "no sticking" in finding.text and "passable" in finding.text


@pytest.mark.slow
def test_a_density_that_its_curve_cannot_explain_is_looked_at():
    made = spread(curve=curve(), green_density=figure(0.45, 0.002))
    assert found(made)["packing against size curve"].level == "look"
    assert "packing against size curve" not in found(spread(curve=curve(), green_density=figure(0.55, 0.002)))


@pytest.mark.slow
def test_the_coarsest_grains_are_held_against_the_layer():
    d99 = spread(curve=curve()).d99
    for layer, told in ((d99 * 1e6 - 1, True), (d99 * 1e6 + 1, False)):
        made = spread(Choices(layer_um=layer), curve=curve(), tap_density=figure(5000.0))
        assert ("layer under d99" in found(made)) is told


@pytest.mark.slow
def test_a_lot_of_another_powder_stops():
    lot = Lot(name="L", powder="copper", origin="received")
    assert found(bed.spread(POWDER, lot, Choices()))["lot of another powder"].level == "stop"


@pytest.mark.slow
def test_price_and_solid_density_of_the_lot_go_before_the_cards():
    made = spread(price=figure(99.0), solid_density=figure(7900.0), tap_density=figure(5000.0))
    assert made.powder.price.value == 99.0 and made.powder.solid_density.value == 7900.0


@pytest.mark.slow
def test_percentiles_are_those_of_the_curve():
    powder = spread(curve=curve(6, 30)).powder
    np.testing.assert_allclose([powder.d10.value, powder.d90.value], [6e-6, 30e-6], rtol=5e-3)


@pytest.mark.slow
def test_calibration_is_undone_by_the_model():
    sizes, shares = spread_bed.classes(curve().size, curve().finer)
    for name, law in spread_bed.MODELS.items():
        alone = spread_bed.calibrated(sizes, shares, 0.61, name)
        np.testing.assert_allclose(law(sizes, shares, alone), 0.61, rtol=1e-7)


def test_a_lognormal_curve_packs_as_worked_in_another_program():
    """Science page, section 1.9: sigma 0.54, 15 classes over 2.5 sigma, 0.60 alone: 0.6589."""
    edges = np.linspace(-2.5, 2.5, 16)
    finer = (ndtr(edges) - ndtr(-2.5)) / (ndtr(2.5) - ndtr(-2.5))
    sizes, shares = spread_bed.classes(16e-6 * np.exp(0.54 * edges), finer)
    np.testing.assert_allclose(packing.linear(sizes, shares, 0.60), 0.6589, atol=5e-5, rtol=0)


@pytest.mark.slow
def test_doubt_of_green_density_follows_that_of_the_bed():
    made = spread(apparent_density=figure(4200.0), tap_density=figure(5000.0))
    ratio = POWDER.sintering.green_density.value / 0.58
    np.testing.assert_allclose([made.green / made.packing, made.green_u / made.packing_u], ratio, rtol=1e-12)
