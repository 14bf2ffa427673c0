"""What the furnace will do to pieces."""

import dataclasses
import re

import numpy as np
import pytest

import furnace_goods as hand
from sagger.errors import InputError
from sagger.physics.sintering import densify, shrinkage
from sagger.stations.sinter.rows import grid
from sagger.statistics import chance


def one(found, what):
    """The only finding of that name."""
    (only,) = [finding for finding in found.findings if finding.what == what]
    return only


def named(found):
    return {finding.what: finding.level for finding in found.findings}


def plan(card=None, furnace=None, greens=None):
    return hand.fire(greens or (hand.green(),), hand.powder(card), furnace or hand.furnace())


@pytest.mark.slow
def test_path_runs_from_room_to_room_and_only_forward():
    found = plan()
    assert found.temperature[0] == found.temperature[-1] == 293.15
    assert found.temperature.max() == 1370 + 273.15
    assert np.all(np.diff(found.time) > 0)
    ramps = 580 / 2 * 60 + 770 / 5 * 60 + 1350 / 10 * 60
    np.testing.assert_allclose(found.run, ramps + 2 * hand.H, rtol=1e-12)


@pytest.mark.slow
def test_published_dilatometry_of_steel_comes_back():
    """Cabo Rios et al. 2022, abstract: 96.4 % after 5 K/min to 1370 °C; the hold of 1 h is assumed."""
    found = plan(hand.sintering(programme=(hand.segment(),)))
    soak = np.flatnonzero(found.temperature == 1370 + 273.15)[-1]
    np.testing.assert_allclose(found.density[soak], 0.964, rtol=1e-3)
    assert found.final_density > found.density[soak]  # the first of the cooling still counts


@pytest.mark.slow
def test_density_is_the_law_in_closed_form():
    found, card = plan(), hand.sintering()
    decay = densify.decay(found.time, found.temperature, 1.7, 5e-6, 0.0542, 226.7e3)
    np.testing.assert_allclose(found.density, densify.densified(0.55, decay), rtol=1e-12)
    np.testing.assert_allclose(
        np.prod(found.ratio), card.green_density.value / found.final_density, rtol=1e-9
    )


@pytest.mark.slow
def test_density_is_capped_where_the_card_ends_the_law():
    found = plan(hand.sintering(programme=(hand.segment(hold_h=20.0),)))
    assert found.final_density == 0.98 and found.density.max() == 0.98


@pytest.mark.slow
def test_warmer_furnace_scatter_widens_the_forecast():
    calm, wild = plan(furnace=hand.furnace(uniformity=0.0)), plan(furnace=hand.furnace(uniformity=15.0))
    assert wild.final_density_u > calm.final_density_u
    assert np.all(wild.ratio_u > calm.ratio_u)


@pytest.mark.slow
def test_furnace_share_agrees_with_the_law_of_a_soak():
    still = hand.sintering(
        **{
            name: hand.fig(getattr(hand.sintering(), name).value)
            for name in ("green_density", "anisotropy_z")
        },
        anisotropy_y=1.02,
        viscosity_factor=0.0542,
    )
    found = plan(still)
    left, peak = 1 - found.final_density, 1370 + 273.15  # of `densified`, all work done at the peak
    slope = left * np.log(0.45 / left) * (226.7e3 / (8.314462618 * peak) - 1) / peak
    np.testing.assert_allclose(found.final_density_u, slope * chance.rectangular(5.0), rtol=0.05)


@pytest.mark.slow
def test_ratio_and_its_doubt_hang_together():
    found = plan()
    relative = found.ratio_u / found.ratio
    assert np.all(relative > 0.001) and np.all(relative < 0.02)
    green = shrinkage.sensitivities(0.55, found.final_density, 1.02, 1.15)[:, 0] * 0.005
    assert np.all(found.ratio_u >= np.abs(green) * 0.5)


@pytest.mark.slow
def test_too_cold_a_furnace_stops_and_says_by_how_much():
    found = plan(furnace=hand.furnace(temperature=1300 + 273.15))
    cold = one(found, "furnace temperature")
    assert cold.level == "stop" and "70 K more" in cold.text
    assert found.temperature.max() == 1300 + 273.15 and found.final_density < plan().final_density


@pytest.mark.slow
def test_foreign_atmosphere_stops_once():
    found = plan(furnace=hand.furnace(atmospheres=("air",)))
    assert one(found, "furnace atmosphere").level == "stop"


@pytest.mark.slow
def test_slow_furnace_runs_slower_and_says_so():
    found = plan(furnace=hand.furnace(rate_most=1 / 60))
    assert named(found)["furnace rate"] == "look"
    assert found.run > plan().run and max(segment.rate for segment in found.programme) == 1 / 60


@pytest.mark.slow
def test_card_and_law_that_disagree_are_reported():
    assert named(plan())["sintered density"] == "ok"
    assert named(plan(hand.sintering(sintered_density=hand.fig(0.90, 0.004))))["sintered density"] == "look"


@pytest.mark.slow
def test_binder_left_is_seen():
    assert named(plan())["binder left"] == "ok"
    short = (hand.segment(5.0, 380.0, 0.1, stage="debinding"), hand.segment())
    found = one(plan(hand.sintering(programme=short)), "binder left")
    assert found.level == "look"
    more = float(re.search(r"Hold ([\d.e+]+) min longer", found.remedy)[1])
    held = (hand.segment(5.0, 380.0, 0.1 + more / 60, stage="debinding"), hand.segment())
    share = one(plan(hand.sintering(programme=held)), "binder left").value
    np.testing.assert_allclose(share, 0.99, rtol=0, atol=1e-4)


@pytest.mark.slow
def test_thick_wall_of_fine_powder_is_seen():
    thick = hand.green(hand.part(size=(40.0, 40.0, 40.0)))
    fine = dataclasses.replace(hand.powder(), d50=hand.fig(0.4e-6))
    found = hand.fire((thick,), fine, hand.furnace(shelf_height=0.1))
    assert one(found, "debinding pressure").level == "look"
    coarse = hand.fire((thick,), hand.powder(), hand.furnace(shelf_height=0.1))
    assert one(coarse, "debinding pressure").level == "ok"


@pytest.mark.slow
def test_vacuum_lets_a_section_see_more_pressure():
    under = (dataclasses.replace(hand.BURN, atmosphere="vacuum"), hand.segment())
    found = plan(hand.sintering(programme=under), hand.furnace(atmospheres=("vacuum", "hydrogen")))
    assert one(found, "debinding pressure").value > one(plan(), "debinding pressure").value


def test_grid_of_worked_example():
    """Worked by hand: 300 x 200 tray, rim 5, gap 3; 24 x 20 gives 80, turned 84."""
    assert np.prod(grid((300, 200), 5, (24, 20), 3)) == 84
    assert grid((300, 200), 5, (24, 20), 3) == (12, 7)
    assert np.prod(grid((300, 200), 5, (291, 100), 3)) == 0


@pytest.mark.slow
def test_loads_count_trays_and_runs():
    found = plan(greens=(hand.green(hand.part(quantity=400)),)).load
    fit = found.fits[0]
    assert fit.trays == -(-400 // fit.per_tray) and found.runs == -(-found.trays // 4)
    np.testing.assert_allclose(found.fill, found.trays / (found.runs * 4), rtol=1e-12)


@pytest.mark.slow
def test_footprint_is_the_green_outline_and_the_mass_that_of_the_green_piece():
    fit = plan().load.fits[0]
    np.testing.assert_allclose(fit.footprint, [0.02 * 1.19] * 2, rtol=1e-9)
    np.testing.assert_allclose(fit.height, 0.0125 * 1.22, rtol=1e-9)
    solid = hand.powder().solid_density.value
    np.testing.assert_allclose(fit.mass, 5e-6 * 1.19**2 * 1.22 * 0.55 * solid * 1.01, rtol=1e-9)


@pytest.mark.slow
def test_too_tall_a_piece_stops_by_how_much():
    tall = hand.green(hand.part(size=(20.0, 20.0, 50.0)))
    found = plan(greens=(tall,))
    assert one(found, "furnace height").level == "stop" and "1.0 mm more" in one(found, "furnace height").text


@pytest.mark.slow
def test_too_wide_a_piece_stops():
    wide = hand.green(hand.part(size=(245.0, 20.0, 10.0)))
    assert one(plan(greens=(wide,)), "furnace tray").level == "stop"


def test_sand_is_refused():
    with pytest.raises(InputError, match="not sintered"):
        hand.fire((hand.green(),), hand.sand(), hand.furnace())
