"""Round and sloping faces on drops and layers: enumerated, and profiles drawn out, apart from the laws."""

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.physics.drops import drop_lattice, stairs

PITCH = 0.0635  # mm: lengths of any one unit will do
pytestmark = pytest.mark.outside("enumeration over places on the lattice, profiles: check values C13 to C18")


def areas(radius, pitch, count, seed):
    """Of discs drawn by drops whose middles lie inside, anywhere on the lattice."""
    rng = np.random.default_rng(seed)
    x, y = (np.arange(-int(radius / p) - 2, int(radius / p) + 3) * p for p in pitch)
    for u, v in rng.uniform(0, 1, (count, 2)) * pitch:
        yield ((x[:, None] + u) ** 2 + (y + v) ** 2 < radius**2).sum() * pitch[0] * pitch[1]


@pytest.mark.slow
@pytest.mark.parametrize("pitch", [(PITCH, PITCH), (0.0847, 0.0423)])
def test_c14_a_round_area_scatters_as_discs_enumerated_do(pitch):
    """80 radii of 3.5 to 4.5 mm, 100 places each; three standard errors (radii differ among themselves)."""
    off = [
        (area - np.pi * radius**2) / (np.pi * radius)
        for seed, radius in enumerate(np.linspace(3.5, 4.5, 80))
        for area in areas(radius, pitch, 100, seed)
    ]
    np.testing.assert_allclose(np.sqrt(np.mean(np.square(off))), drop_lattice.round_u(8.0, pitch), rtol=0.03)
    assert abs(np.mean(off)) < 1e-4  # the mean holds


@pytest.mark.parametrize(("radius", "least", "most"), [(1.0, 0.66, 0.70), (4.0, 0.685, 0.705)])
def test_a_plug_meets_corners_of_drops_two_thirds_of_a_pitch_inside(radius, least, most):
    rng, losses = np.random.default_rng(3), []
    x = np.arange(-int(radius / PITCH) - 3, int(radius / PITCH) + 4) * PITCH
    for u, v in rng.uniform(0, PITCH, (150, 2)):
        a, b = np.meshgrid(x + u, x + v, indexing="ij")
        printed = a**2 + b**2 >= radius**2
        near = np.hypot(np.maximum(abs(a) - PITCH / 2, 0), np.maximum(abs(b) - PITCH / 2, 0))
        losses.append(radius - near[printed].min())
    law = drop_lattice.plug_loss(radius, (PITCH, PITCH))
    np.testing.assert_allclose(law.mean, np.mean(losses), atol=3 * np.std(losses) / np.sqrt(150))
    assert least < law.mean / PITCH < most and law.most <= PITCH / np.sqrt(2) * (1 + 1e-9)


def test_c15_to_c18_stairs_are_those_of_a_profile():
    """50 um, 30 degrees: depth 43.301, Ra 10.825, Rq 12.500, at the floor 21.651 um off."""
    slope = np.radians(30)
    along = (np.arange(200_000) + 0.5) / 200_000 * 10
    height = along * np.tan(slope)
    middle = (np.floor(height / 0.05 + 0.5) * 0.05 - height) * np.cos(slope)
    law = stairs.stairs(0.05, slope)
    drawn = (np.ptp(middle), abs(middle - middle.mean()).mean(), middle.std())
    np.testing.assert_allclose(law[:3], drawn, rtol=2e-3)
    np.testing.assert_allclose(law[:3], (43.301e-3, 10.825e-3, 12.5e-3), atol=1e-6)
    np.testing.assert_allclose(law.crest, middle.max(), rtol=2e-3)
    floor = (np.ceil(height / 0.05) * 0.05 - height) * np.cos(slope)  # outline of the layer's lower side
    np.testing.assert_allclose(stairs.stairs(0.05, slope, 0.0).bias, floor.mean(), rtol=5e-3)
    assert abs(law.depth / 4 - law.rq) > 1e-3  # Ra taken for Rq: a negative control


def test_two_sets_of_steps_that_do_not_keep_pace_by_draws():
    u, v = np.random.default_rng(1).uniform(-0.5, 0.5, (2, 400_000))
    one, other = stairs.stairs(0.05, np.radians(30)), stairs.stairs(PITCH, np.radians(60))
    profile = one.depth * u + other.depth * v
    both = stairs.crossed(one, other)
    np.testing.assert_allclose((both.ra, both.rq), (abs(profile).mean(), profile.std()), rtol=4e-3)
    np.testing.assert_allclose((both.depth, both.crest), (np.ptp(profile), profile.max()), rtol=5e-3)
    assert stairs.crossed(one, stairs.stairs(PITCH, np.pi / 2)).ra == pytest.approx(one.ra, rel=1e-9, abs=0)


def test_what_is_no_slope_or_no_round_is_refused():
    for wrong in ((0.0, 0.5, 0.5), (0.05, 0.0, 0.5), (0.05, 1.6, 0.5), (0.05, 0.5, 1.1)):
        with pytest.raises(LawError, match="expected"):
            stairs.stairs(*wrong)
    with pytest.raises(LawError, match="not drawn"):
        drop_lattice.plug_loss(0.05, (PITCH, PITCH))
    with pytest.raises(LawError, match="above 0"):
        drop_lattice.round_u(0.0, (PITCH, PITCH))
