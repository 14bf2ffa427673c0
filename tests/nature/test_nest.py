"""What must hold for any order in any box, judged by another library."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.goods.learned import BedMap
from sagger.goods.order import Choices, Nesting, Tolerance
from sagger.stations import nest

pytestmark = pytest.mark.slow

HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
FIXED, TURNS, UPRIGHT, angle, box, brick, green, least_gap = (
    HAND[name] for name in ("FIXED", "TURNS", "UPRIGHT", "angle", "box", "brick", "green", "least_gap")
)

SHAPES = (
    brick(12, 7, 5),
    angle(18, 14, 9, 3),
    trimesh.creation.icosphere(subdivisions=2, radius=6.0),
    trimesh.creation.torus(major_radius=7.0, minor_radius=2.2, major_sections=20, minor_sections=10),
    trimesh.creation.annulus(r_min=3.0, r_max=6.0, height=11.0, sections=24),
)


def bed(side):
    """A map of a bed whose density falls along x and z."""
    at = np.array(list(np.ndindex(2, 2, 2))) * (side, 36.0, 34.0)
    return BedMap(
        box="a test box", material="metal", places_mm=at, density=0.55 - 1e-4 * (at[:, 0] + at[:, 2]),
        noise=1e-6, axes=(0, 1, 2), amplitude=0.0, reach_mm=np.array([side, 36.0, 34.0]), reference=0.55,
    )  # fmt: skip


def held_to(part, share):
    request = dataclasses.replace(part.part.request, tolerance=Tolerance(kind="percent", value=share))
    return dataclasses.replace(part, part=dataclasses.replace(part.part, request=request))


@st.composite
def orders(draw):
    chosen = draw(st.lists(st.integers(0, len(SHAPES) - 1), min_size=1, max_size=3, unique=True))
    k = tuple(draw(st.floats(1.0, 1.25)) for _ in range(3))
    return tuple(
        held_to(
            green(
                f"shape {n}",
                SHAPES[n],
                draw(st.integers(1, 4)),
                draw(st.sampled_from([FIXED, UPRIGHT, TURNS])),
                k,
            ),
            draw(st.sampled_from([0.2, 0.5, 2.0])),
        )
        for n in chosen
    )


@settings(max_examples=12, deadline=None)
@given(
    parts=orders(),
    side=st.floats(30, 60),
    gap=st.sampled_from([0.4, 1.0, 1.7]),
    wall=st.floats(0, 3),
    seed=st.integers(0, 99),
    prefer=st.sampled_from(["height", "height", "surface", "powder"]),
    places=st.sampled_from(["any", "any", "by tolerance"]),
    lift=st.sampled_from(["up", "sideways", "any"]),
)
def test_all_are_placed_and_none_comes_too_close(parts, side, gap, wall, seed, prefer, places, lift):
    wishes = Choices(seed=seed, nesting=Nesting(prefer=prefer, places=places, lift=lift))
    card = box((side, 36.0, 34.0), gap=gap, wall=wall, floor=0.5)
    made = nest.pack(parts, card, wishes, bed(side))
    pieces = sorted((piece.part, piece.number) for layout in made.layouts for piece in layout.pieces)
    assert pieces == [(n, m) for n, one in enumerate(parts) for m in range(1, one.part.request.quantity + 1)]
    for layout in made.layouts:
        found = least_gap(layout, gap + 4.0)
        assert found >= gap - 2e-5
        np.testing.assert_allclose(min(layout.least_gap_mm, gap + 4.0), found, rtol=0, atol=2e-5)
        for piece in layout.pieces:
            shape = layout.greens[piece.part].shape
            at = shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
            assert (at.min(axis=0) >= np.array([wall, wall, 0.5]) - 1e-6).all()
            assert (at.max(axis=0) <= np.array([side - wall, 36.0 - wall, 33.5]) + 1e-6).all()
            assert at[:, 2].max() <= layout.height_mm + 1e-9
