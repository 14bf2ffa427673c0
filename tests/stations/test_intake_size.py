"""Sizes that nobody means, units that contradict each other, walls of tiny parts, one wall said once."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest

from sagger.goods.order import Choices
from sagger.stations import intake

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
CELL = shapes.cell()
SOLID = manifold3d.Manifold


def noticed(shape, choices=None, unit_from="order", **asked):
    file = dataclasses.replace(shapes.file(shape), unit_from=unit_from)
    part = intake.check(shapes.request(**asked), file, CELL, choices or Choices())
    return {finding.what: finding for finding in part.findings}


@pytest.mark.parametrize(
    ("size", "way"), [((0.044, 0.014, 0.047), "smaller"), ((40_000, 20_000, 3000), "larger")]
)
def test_a_size_that_no_workshop_means_is_questioned(size, way):
    question = noticed(shapes.box(*size))["size"]
    assert question.level == "look" and way in question.text and "Is that meant?" in question.text
    assert ("in inches 1.118" in question.text) == (way == "smaller")
    assert "size" not in noticed(shapes.box(30, 20, 10))


@pytest.mark.parametrize("size", [(9e6, 0.0012, 0.0008), (2e-5, 1.2e-5, 8e-6)])
def test_walls_and_hollows_of_a_size_that_no_part_has_are_not_sought(monkeypatch, size):
    """A needle of 9 km took 9 GB and minutes: nothing that grows with size over thickness is begun."""
    monkeypatch.setattr("sagger.stations.intake.examine.thickness.measure", None)
    monkeypatch.setattr("sagger.stations.intake.examine.unpacking", None)
    found = noticed(shapes.box(*size))
    stops = {what for what, finding in found.items() if finding.level == "stop"}
    assert ("too big for box" if size[0] > 1 else "thin wall") in stops and "size" in found


def test_a_wall_of_a_tiny_part_is_no_slip_of_the_mesh():
    assert noticed(shapes.box(0.044, 0.014, 0.047))["thin wall"].level == "stop"


@pytest.mark.slow
def test_a_wall_that_is_not_drawn_is_said_once():
    choices = Choices(bleed_um=300.0, depth_um=500.0)
    told = noticed(shapes.box(30, 30, 0.3), choices)
    assert "plate thinner than soak" in told and "thin wall" not in told
    told = noticed(shapes.box(30, 30, 0.02), choices)
    assert told["thin wall"].level == "stop" and "plate thinner than soak" not in told


@pytest.mark.slow
def test_handling_asks_of_a_wall_as_it_bends_not_of_its_thinnest_speck():
    """A plate 1.9 mm thick with a nick 0.4 mm deep in one corner, under a thousandth of its surface."""
    plate = shapes.of(SOLID.cube((60, 60, 1.9)) - SOLID.cube((1.5, 1.5, 1.5)))
    sound, nicked = noticed(shapes.box(60, 60, 1.9)), noticed(plate)
    np.testing.assert_allclose(nicked["handling"].value, sound["handling"].value, rtol=0.05)
