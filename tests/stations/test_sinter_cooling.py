"""A furnace run ends when the load may be touched, not when a ruler says so."""

import numpy as np

import furnace_goods as hand
from sagger.stations.sinter.path import path

FURNACE = hand.furnace()
SLOW = hand.furnace(cool_time=96 * 60.0, open_temperature=80 + 273.15)
PROGRAMME = (hand.segment(degc=1360.0),)


def cooling(furnace, programme=PROGRAMME):
    way = path(programme, furnace)
    return way, way.segment == len(programme)


def test_cooling_keeps_its_rate_while_it_can_and_then_slows():
    way, down = cooling(SLOW)
    rate = -np.diff(way.temperature[down]) / np.diff(way.time[down]) * 60  # [K/min]
    hot = way.temperature[down][:-1] > 980 + 273.15  # 20 °C + 10 K/min x 96 min
    np.testing.assert_allclose(rate[hot], 10.0, rtol=1e-9)
    assert np.all(np.diff(rate[~hot]) < 0) and rate[-1] < 0.7  # (80 - 20) K / 96 min


def test_the_run_ends_when_the_furnace_may_be_opened():
    """5 h 4 min from 1360 to 80 °C, as tests/published/furnace_cooling.toml works out."""
    way, down = cooling(SLOW)
    assert way.temperature[-1] == 80 + 273.15
    hours = (way.time[-1] - way.time[~down][-1]) / 60
    np.testing.assert_allclose(hours, 304.17, rtol=1e-4)


def test_a_furnace_without_the_figures_cools_straight_to_the_room():
    way, down = cooling(FURNACE)
    np.testing.assert_allclose(way.time[-1] - way.time[~down][-1], 134 * 60, rtol=1e-12)
    assert way.temperature[-1] == 293.15


def test_a_programme_that_ends_cold_needs_no_cooling():
    cold = (*PROGRAMME, hand.segment(degc=60.0))
    way, down = cooling(SLOW, cold)
    assert not down.any() and way.temperature[-1] == 60 + 273.15


def test_steps_of_the_way_down_are_small():
    way, down = cooling(SLOW)
    assert np.abs(np.diff(way.temperature[down])).max() <= 5 + 1e-9
