"""Column heights of shapes whose heights are known from school geometry."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.geometry.pile.judge.clearance import apart, surface
from sagger.geometry.pile.lowering.columns import NOTHING, columns
from sagger.geometry.pile.lowering.nearness import filled
from sagger.geometry.pile.lowering.nofit import CLEAR, lowest


def cornered(mesh: trimesh.Trimesh) -> np.ndarray:
    tri = np.asarray(mesh.triangles, float)
    return np.ascontiguousarray(tri - tri.min(axis=(0, 1)))


def test_a_brick_fills_its_columns_and_reaches_one_gap_up():
    fields = columns(cornered(trimesh.creation.box(extents=(6, 4, 3))), 1.0, 2.0)
    assert fields.under.shape == (4, 6)
    assert fields.pad == 2
    assert (fields.under == 0).all()
    assert (fields.over == 3000).all()
    assert (fields.reach[2:-2, 2:-2] == 5000).all()


def test_beside_a_brick_the_reach_falls_off_like_a_quarter_circle():
    reach = columns(cornered(trimesh.creation.box(extents=(6, 4, 3))), 1.0, 2.0).reach
    assert reach[4, 1] == 5000  # the column that touches the brick
    np.testing.assert_allclose(reach[4, 0], 1e3 * (3 + np.sqrt(2**2 - 1)), rtol=0, atol=1.001)
    np.testing.assert_allclose(reach[0, 0], 1e3 * (3 + np.sqrt(2)), rtol=0, atol=1.001)


def test_a_flush_face_claims_no_column_beyond_the_gap():
    reach = columns(cornered(trimesh.creation.box(extents=(5, 5, 5))), 0.5, 1.0).reach
    assert reach.shape == (14, 14)
    assert (columns(cornered(trimesh.creation.box(extents=(5, 5, 5))), 0.5, 0.9).reach > 0).all()


def test_a_ramp_is_cut_at_the_column_walls():
    corners = np.array([[0, 0, 0], [4, 0, 0], [4, 0, 4], [0, 2, 0], [4, 2, 0], [4, 2, 4]], float)
    fields = columns(cornered(trimesh.convex.convex_hull(corners)), 1.0, 0.0)
    np.testing.assert_allclose(fields.over, [[1000, 2000, 3000, 4000]] * 2, rtol=0, atol=1)
    assert (fields.under == 0).all()


def test_a_hole_through_a_plate_stays_open():
    plate = trimesh.creation.annulus(r_min=4.0, r_max=8.0, height=2.0)
    fields = columns(cornered(plate), 1.0, 0.0)
    assert fields.under[7, 7] == NOTHING
    assert fields.over[7, 7] == -NOTHING
    assert not filled(fields, 1.0, 1.0)[:, 7, 7].any()


@pytest.mark.slow
@settings(max_examples=15, deadline=None)
@given(
    shift=st.tuples(st.integers(-14, 14), st.integers(-14, 14)),
    pitch=st.sampled_from([0.5, 0.7, 1.0]),
    gap=st.sampled_from([0.3, 1.0, 2.0]),
)
def test_a_piece_let_down_to_the_lowest_height_keeps_its_gap_and_wastes_less_than_a_column(shift, pitch, gap):
    ball = cornered(trimesh.creation.icosphere(subdivisions=2, radius=4.0))
    ring = cornered(trimesh.creation.torus(major_radius=6.0, minor_radius=2.0))
    lying, coming = columns(ring, pitch, gap), columns(ball, pitch, gap)
    table = lowest(lying.reach, coming.under)
    dy, dx = np.clip(shift, 1 - np.array(coming.under.shape), np.array(lying.reach.shape) - 1)
    z = table[coming.under.shape[0] - 1 + dy, coming.under.shape[1] - 1 + dx]
    at = np.array([(dx - lying.pad) * pitch, (dy - lying.pad) * pitch, z * 1e-3])
    if z > CLEAR:
        found = apart(surface(ring), surface(ball), at, 50.0)
        assert gap - 1e-6 <= found < gap + 2 * pitch + 0.01
