"""A bed's conductivity found again from readings that the exact series of a block made."""

import numpy as np
import pytest

import exact_block
from sagger.errors import LawError
from sagger.physics.heat import conduction
from sagger.physics.heat.bed_fit import Probe, fit, history, moved, straight
from sagger.physics.heat.box_heat import Programme
from sagger.physics.heat.box_heat_grid import Face, HeatedBed, Material

SIDES, HEAT, START, OVEN, FILM = (0.16, 0.065, 0.065), 2.2e6, 298.15, 473.15, 20.0
TIMES = np.linspace(0, 3 * 3600, 60)


def model(place):
    """Finite volumes, as a function of the conductivity."""
    widths = tuple(np.full(n, side / n) for n, side in zip((27, 11, 11), SIDES, strict=True))
    probe = Probe(place, TIMES, np.zeros(60))

    def at(conductivity):
        material = Material(conductivity, HEAT)
        bed = HeatedBed(np.ones((27, 11, 11)), widths, material, material, START)
        return history(bed, (Face(FILM),) * 6, Programme((0.0, TIMES[-1]), (OVEN, OVEN)), probe)

    return at


def exact(conductivity, place):
    block = conduction.Block(SIDES, conductivity, HEAT, FILM, START, OVEN)
    return exact_block.temperature(block, place, TIMES)


@pytest.mark.slow
@pytest.mark.parametrize("conductivity", [0.12, 0.2, 0.45])
@pytest.mark.parametrize("place", [(0.08, 0.0325, 0.0325), (0.04, 0.02, 0.03)])
@pytest.mark.outside("Incropera et al., sections 5.5 and 5.8, exact series")
def test_conductivity_comes_back_from_the_exact_series(conductivity, place):
    found = fit(model(place), exact(conductivity, place), 0.25)
    np.testing.assert_allclose(found.conductivity, conductivity, rtol=0.02)
    assert found.misfit < 0.7  # K; the first minutes between two voxels


@pytest.mark.slow
@pytest.mark.nature
def test_one_step_tells_what_a_shift_of_the_reading_would_do():
    place = (0.08, 0.0325, 0.0325)
    at, read = model(place), exact(0.2, place)
    found, lower = fit(at, read, 0.2), fit(at, read - 1.0, 0.2)
    np.testing.assert_allclose(moved(found, 1.0), lower.conductivity - found.conductivity, rtol=0.1)


@pytest.mark.slow
def test_reading_that_says_nothing_is_refused():
    with pytest.raises(LawError, match="heat the box"):
        fit(model((0.08, 0.03, 0.03)), np.full(60, START), 0.2)
    with pytest.raises(LawError, match="no conductivity"):
        fit(model((0.08, 0.03, 0.03)), np.append(START, np.full(59, OVEN)), 0.2)


@pytest.mark.nature
def test_oven_s_history_is_kept_within_the_distance_asked():
    times = np.linspace(0, 100, 501)
    oven = np.interp(times, [0, 30, 80, 100], [300.0, 470.0, 470.0, 320.0]) + 0.3 * np.sin(times)
    corners = straight(times, oven, 0.7)
    assert len(corners.times) < 12
    assert np.abs(np.interp(times, *corners) - oven).max() <= 0.7
