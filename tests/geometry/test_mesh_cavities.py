"""Hollows whose volume is known, with openings wider and narrower than a ball."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest

from sagger.geometry.surface import mesh
from sagger.geometry.surface.heal import heal
from sagger.geometry.wall import cavities

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
of = shapes.of

SOLID = manifold3d.Manifold


def room():
    return SOLID.sphere(10, 64)


def block():
    """Not kept, for the library complains of what is left at the end."""
    return SOLID.cube((40, 40, 40), True) - room()


def bored(diameter):
    return of(block() - SOLID.cylinder(30, diameter / 2, diameter / 2, 32))


def test_a_hollow_without_opening_is_known_exactly():
    healed = heal(of(block()))
    (hollow,) = cavities.sealed(healed.shape, healed.shells)
    np.testing.assert_allclose(hollow.volume_mm3, room().volume(), rtol=1e-9)
    np.testing.assert_allclose(hollow.at_mm, [0, 0, 0], rtol=0, atol=1e-6)


def test_a_solid_in_a_hollow_takes_its_room():
    healed = heal(mesh.merged([of(block()), of(SOLID.sphere(4, 32))]))
    (hollow,) = cavities.sealed(healed.shape, healed.shells)
    np.testing.assert_allclose(hollow.volume_mm3, room().volume() - SOLID.sphere(4, 32).volume(), rtol=1e-9)


@pytest.mark.slow
def test_a_narrow_bore_chokes_a_hollow():
    found = cavities.flooded(bored(1.2), 2.0)
    (hollow,) = cavities.narrow(found)
    np.testing.assert_allclose(hollow.volume_mm3, room().volume(), rtol=0.01)
    assert found.grid.pitch_mm < 0.34
    assert np.linalg.norm(hollow.at_mm) < 10


@pytest.mark.slow
def test_a_wide_bore_lets_powder_out():
    assert cavities.narrow(cavities.flooded(bored(2.6), 2.0)) == []


@pytest.mark.slow
@pytest.mark.parametrize("turn", [(90, 0, 0), (0, 90, 0), (31, 17, 5)])
def test_the_way_a_part_lies_does_not_matter(turn):
    bore = SOLID.cylinder(30, 0.6, 0.6, 32)
    (hollow,) = cavities.narrow(cavities.flooded(of((block() - bore).rotate(turn)), 2.0))
    np.testing.assert_allclose(hollow.volume_mm3, room().volume(), rtol=0.01)


def test_a_solid_block_has_no_hollow():
    assert cavities.narrow(cavities.flooded(of(SOLID.cube((10, 20, 30))), 2.0)) == []


def test_an_open_cup_keeps_no_powder():
    cup = SOLID.cylinder(30, 12, 12, 64) - SOLID.cylinder(30, 10, 10, 64).translate((0, 0, 3))
    assert cavities.narrow(cavities.flooded(of(cup), 2.0)) == []
