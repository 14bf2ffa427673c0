"""A body that sags onto itself comes to rest there."""

import numpy as np
import pytest
from solid_bodies import SOFTNESS, STEEL, TO_97, box, built, density, joined, sole

from sagger.geometry.cells import warp
from sagger.geometry.surface import mesh
from sagger.physics import solid
from sagger.physics.solid import contact, skin

MM = 1e-3
ARM, THICK, WIDE, ROOT, LEDGE = 20.0, 1.6, 6.0, 4.0, 3.0


def clip(gap, thick=THICK):
    """An arm over a thick ledge, both on one root at x = 0 to 4."""
    top = LEDGE + gap
    return joined(
        box((ARM, WIDE, LEDGE)), box((ROOT, WIDE, top + thick)), box((ARM, WIDE, thick), (0, 0, top))
    )


def dressed(shape, pitch):
    """The body in cells, and its skin."""
    body, samples = built(shape, pitch, (0.3, 0.3, 0.0)), warp.samples(shape, pitch)
    where = body.points(samples.points * MM, samples.inward)
    return body, solid.Skin(where, samples.area * MM**2, -samples.inward, pitch * MM)


def fired(shape, pitch, touching=True, friction=0.3):
    body, outside = dressed(shape, pitch)
    feet = sole(body, (0, ARM), (0, WIDE), pitch / 2)
    setting = solid.FiringSetting(solid.plain(TO_97, SOFTNESS), STEEL, solid.Setter(friction))
    out = solid.fire(
        body,
        solid.GreenBricks(body.place, density(body)),
        setting,
        feet=feet,
        skin=outside if touching else None,
    )
    return body, outside, out


def overlap(body, shape, pitch, place):
    """How far the surface lies in itself, in cells."""
    fine = warp.divided(shape, 2 * pitch)
    points = solid.carried(body.points(fine.vertices * MM, warp.inward(fine)), body.body.nodes, place) / MM
    return warp.overlap(mesh.shape(points, fine.triangles), pitch / 3).depth_mm / pitch


@pytest.mark.slow
@pytest.mark.parametrize(("gap", "friction"), [(0.8, 0.3), (1.6, 0.0)])
def test_an_arm_comes_to_rest_on_its_own_ledge(gap, friction):
    """Else it would go 2 cells into it; the setter still carries the whole."""
    shape = clip(gap)
    body, _, out = fired(shape, 0.8, friction=friction)
    assert overlap(body, shape, 0.8, out.place) < 0.05
    assert out.borne.sum() > 0
    np.testing.assert_allclose(out.carried, 1.0, rtol=0.02)
    free = fired(shape, 0.8, touching=False, friction=friction)[2]
    assert overlap(body, shape, 0.8, free.place) > 1.0


@pytest.mark.slow
def test_arms_that_do_not_meet_come_out_to_the_last_bit_as_without_a_skin():
    shape = clip(5.0)
    with_it, without = (fired(shape, 1.0, touching)[2] for touching in (True, False))
    np.testing.assert_array_equal(with_it.place, without.place)
    np.testing.assert_array_equal(with_it.density, without.density)
    assert with_it.iterations == without.iterations and not with_it.bore.any()


@pytest.mark.slow
def test_the_ledge_bears_what_the_prop_of_a_cantilever_does():
    """Prop at a, end beyond it by c, load q per length: 3 q a / 8 + q c + 3 q c^2 / (4 a); handbook case.

    From the differential equation of the beam by hand; speeds of a viscous beam follow the same.
    """
    body, outside, out = fired(clip(1.6), 0.5, friction=0.0)
    x = solid.carried(outside.points, body.body.nodes, out.place)[:, 0] / MM
    prop = out.borne @ x / out.borne.sum()
    root, end = (ARM / 2 + (at - ARM / 2) * out.shrunk[0] for at in (ROOT, ARM))
    a, c = prop - root, end - prop
    load = WIDE * THICK * MM**2 * (ARM - ROOT) * MM * 0.58 * STEEL / (end - root)
    np.testing.assert_allclose(out.borne.sum(), load * (3 / 8 * a + c + 3 / 4 * c**2 / a), rtol=0.03)


def gaps_of(body, outside, reach, moved=0.0):
    nodes, place = body.body.nodes, body.place
    green = skin.lie(outside, nodes, place)
    return contact.near(outside, nodes, green, (place, place + moved), reach, 1e9)[0]


def test_gaps_are_found_as_wide_as_they_are_and_open_as_nodes_move():
    body, outside = dressed(clip(1.3), 0.8)
    found = gaps_of(body, outside, 2 * MM)
    np.testing.assert_allclose(found.gap, 1.3 * MM, rtol=1e-6)
    down = np.zeros_like(body.place)
    down[:, 2] = -0.002 * body.place[:, 0] * (body.place[:, 2] > 3.7 * MM)  # the arm tilts
    lower = gaps_of(body, outside, 2 * MM, down)
    assert np.ptp(lower.gap) > 0.02 * MM
    np.testing.assert_allclose(contact.gaps(found, down), lower.gap, rtol=1e-5)
    assert not len(gaps_of(body, outside, 1.2 * MM).gap)


def test_two_sides_of_one_wall_and_of_one_notch_do_not_bear_on_each_other():
    body, outside = dressed(joined(box((20, 6, 0.7)), box((4, 6, 6))), 0.8)
    assert not len(gaps_of(body, outside, 4 * MM).gap)


def test_what_surfaces_do_to_each_other_is_the_same_both_ways():
    """Sum of forces, and of their moments about the origin."""
    body, outside = dressed(clip(1.3), 0.8)
    sunk = np.zeros_like(body.place)
    sunk[:, 2] = -0.004 * body.place[:, 0] - 1.35 * MM * (body.place[:, 2] > 3.7 * MM)
    found = gaps_of(body, outside, 2 * MM, sunk)
    bears = found.gap < 0
    assert bears.sum() > 50
    force = contact.forces(found, bears, np.zeros_like(body.place))
    scale = np.abs(force).sum()
    np.testing.assert_allclose(force.sum(axis=0) / scale, 0, atol=1e-12)
    moment = np.cross(body.place + sunk, force).sum(axis=0) / (scale * ARM * MM)
    np.testing.assert_allclose(moment, 0, atol=1e-4)
