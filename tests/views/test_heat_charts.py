"""Charts of furnace and oven on paper."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np

from sagger.goods.job import Job
from sagger.units import into
from sagger.views.paper import heat_charts


def curves(svg: str) -> list[np.ndarray]:
    """Points of the three curves as drawn: temperature, density, burnout."""
    found = re.findall(r'<g class="curve"><polyline points="([^"]+)"', svg)
    return [np.array([point.split(",") for point in line.split()], float) for line in found]


def words(svg: str) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def test_it_is_one_svg_that_names_stages_gases_peak_and_density(job: Job) -> None:
    assert job.sintered
    said = words(heat_charts.furnace(job.sintered))
    assert {"debinding", "sintering", "argon", "hydrogen", "1 350 °C", "density 97.0 %"} <= set(said)


def test_curves_stand_at_their_values(job: Job) -> None:
    assert job.sintered
    hot, dense, gone = curves(heat_charts.furnace(job.sintered))
    bottom, top = gone[0, 1], gone[-1, 1]  # burnout runs from 0 to 100 %
    np.testing.assert_allclose((dense[-1, 1] - bottom) / (top - bottom), 0.97, atol=1e-3)
    np.testing.assert_allclose((hot[-1, 1] - bottom) / (top - bottom), 1349.85 / 1600, atol=1e-3)


def test_a_long_run_is_thinned_but_keeps_its_ends(job: Job) -> None:
    assert job.sintered
    hot = curves(heat_charts.furnace(job.sintered))[0]
    assert len(hot) <= 400
    share_of_run = (hot[-1, 0] - hot[0, 0]) / (562 - 58)
    np.testing.assert_allclose(share_of_run, 60_000 / 70_000, atol=1e-3)


def test_the_stay_in_the_oven_is_drawn_against_temperature_and_cure(job: Job) -> None:
    cured = job.builds[0].cured
    oven, corner, core, degree = curves(heat_charts.cure(cured))
    assert oven[0, 0] == corner[0, 0] == core[0, 0] == degree[0, 0]
    bottom, top = degree[:, 1].max(), 40.0  # of the frame: cure runs from 0 to 100 %
    zero = into(0.0, "degC")
    hot = 100.0 * np.ceil(1.08 * (cured.course.oven.max() + zero) / 100.0)
    up = (bottom - core[-1, 1]) / (bottom - top) * hot
    np.testing.assert_allclose(up, cured.course.core[-1] + zero, atol=0.5)
    said = words(heat_charts.cure(cured))
    assert {"heating ends", "95 % cured", "hottest piece", "coldest piece"} <= set(said)
