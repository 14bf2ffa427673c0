"""The furnace chart."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np

from sagger.goods.job import Job
from sagger.views import chart


def curves(svg: str) -> list[np.ndarray]:
    """Points of the three curves as drawn: temperature, density, burnout."""
    found = re.findall(r'<polyline points="([^"]+)"', svg)
    return [np.array([point.split(",") for point in line.split()], float) for line in found]


def words(svg: str) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def test_it_is_one_svg_that_names_stages_gases_peak_and_density(job: Job) -> None:
    assert job.sintered
    said = words(chart.furnace(job.sintered))
    assert {"debinding", "sintering", "argon", "hydrogen", "1 350 °C", "density 97.0 %"} <= set(said)


def test_curves_stand_at_their_values(job: Job) -> None:
    assert job.sintered
    hot, dense, gone = curves(chart.furnace(job.sintered))
    bottom, top = gone[0, 1], gone[-1, 1]  # burnout runs from 0 to 100 %
    np.testing.assert_allclose((dense[-1, 1] - bottom) / (top - bottom), 0.97, atol=1e-3)
    np.testing.assert_allclose((hot[-1, 1] - bottom) / (top - bottom), 1349.85 / 1600, atol=1e-3)


def test_a_long_run_is_thinned_but_keeps_its_ends(job: Job) -> None:
    assert job.sintered
    hot = curves(chart.furnace(job.sintered))[0]
    assert len(hot) <= 400
    share_of_run = (hot[-1, 0] - hot[0, 0]) / (562 - 58)
    np.testing.assert_allclose(share_of_run, 60_000 / 70_000, atol=1e-3)
