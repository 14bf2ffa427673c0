"""Faces that the order has drawn elsewhere: fitted again, promised, and refused where there is no room."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest

import furnace_goods as hand
from sagger.errors import InputError, OrderError
from sagger.files import order_drawn
from sagger.geometry.surface import lookup, mesh

drawn = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("test_promise_drawn.py"))))
line = drawn.line


def radius_of(part, at, around=4.0):
    """Of the corners near a bore, fitted."""
    points = part.shape.vertices
    near = abs(np.hypot(points[:, 0] - at[0], points[:, 1] - at[1]) - around) < 0.3
    return lookup.cylinder(points[near], np.array([*at, 5.0]), np.array([0, 0, 1.0]), around)[2]


@pytest.mark.slow
def test_a_bore_and_a_wall_are_really_drawn_elsewhere():
    """Bore 8 out of the material by 0.02 mm: 7.96; the left wall by 0.3 mm: 40.3 long; all else stays."""
    as_filed = drawn.part(
        line("diameter", drawn.BORE, "±0.1 mm"), line("thickness", drawn.LEFT, "±1 mm", to=[drawn.RIGHT])
    )
    part = drawn.part(
        line("diameter", drawn.BORE, "±0.1 mm", offset_mm=0.02),
        line("thickness", drawn.LEFT, "±1 mm", to=[drawn.RIGHT], offset_mm=0.3),
    )
    np.testing.assert_allclose(radius_of(part, (12, 20)), 3.98, rtol=0, atol=1e-4)
    np.testing.assert_allclose(radius_of(as_filed, (12, 20)), 4.0, rtol=0, atol=1e-6)
    np.testing.assert_allclose(mesh.extent(part.shape), (40.3, 30, 16), atol=1e-5)
    np.testing.assert_allclose(part.shape.vertices[:, 0].min(), -0.3, atol=1e-5)
    assert part.extent_mm == as_filed.extent_mm  # sizes asked for stay those of the drawing
    bored = np.pi * 12 * (4**2 - 3.98**2) + 0.3 * 30 * 12
    np.testing.assert_allclose(part.volume_mm3 - as_filed.volume_mm3, bored, rtol=2e-3)
    (told,) = [finding for finding in part.findings if finding.what == "faces moved"]
    assert "0.02 mm out of the material" in told.text


@pytest.mark.slow
def test_the_promise_expects_what_is_drawn_and_the_proposal_reaches_the_middle():
    """8 +0.1 0 as drawn: half; the offset that is proposed, -0.025 mm, brings what it is said to bring."""
    before = drawn.part(line("diameter", drawn.BORE, "+0.1 mm 0 mm"))
    (told,) = [finding for finding in before.findings if finding.what == "off middle"]
    assert 'offset = "-0.025 mm"' in told.text
    doubt = {"bleed_doubt": hand.fig(0.01e-3)}
    gains = {gain.name: gain.chance for gain in drawn.promised(before, **doubt).pieces[0].raised}
    (name,) = [name for name in gains if name.startswith("draw line 1 offset")]
    assert name == "draw line 1 offset by -0.025 mm"
    after = drawn.part(line("diameter", drawn.BORE, "+0.1 mm 0 mm", offset_mm=-0.025))
    found = drawn.promised(after, **doubt)
    np.testing.assert_allclose(found.lines[0].expected, 8.05, atol=1e-6)
    np.testing.assert_allclose(found.pieces[0].chance, gains[name], atol=2e-3)
    assert not [finding for finding in after.findings if finding.what == "off middle"]


@pytest.mark.slow
def test_stock_is_put_on_a_face_that_is_cut_and_its_sizes_count_from_the_cut():
    part = drawn.part(
        line("flatness", drawn.TOP, "0.05 mm", machined_mm=0.5),
        line("thickness", drawn.LEFT, "±1 mm", to=[drawn.RIGHT]),
    )
    np.testing.assert_allclose(part.shape.vertices[:, 2].max(), 16, atol=1e-6)  # the pin stands as high
    top = part.shape.vertices[abs(part.shape.vertices[:, 2] - 12.5) < 1e-6]
    assert len(top) > 50 and not (abs(part.shape.vertices[:, 2] - 12.0) < 1e-6).any()
    drawn_already = drawn.part(line("flatness", drawn.TOP, "0.05 mm", machined_mm=0.0))
    assert drawn_already.drawing.tolerances[0].why == "cut after sintering"
    assert not [finding for finding in drawn_already.findings if finding.what == "faces moved"]


@pytest.mark.slow
def test_a_face_that_has_no_room_is_refused():
    """A groove 0.4 mm wide cannot lose half a millimetre to its wall."""
    body = manifold3d.Manifold.cube((20, 20, 10)) - manifold3d.Manifold.cube((0.4, 30, 5)).translate(
        (10, -5, 6)
    )
    wall = "plane at 10, 10, 8 facing x"
    with pytest.raises(OrderError, match="fold over"):
        drawn.checked(
            body, line("distance", wall, "±0.1 mm", to=["plane at 0, 10, 5 facing -x"], offset_mm=0.5)
        )


@pytest.mark.parametrize(
    "table",
    [{"what": "flatness", "limit": "0.1 mm"}, {"what": "diameter", "limit": "±0.1 mm", "machined": "1 mm"}],
)
def test_an_offset_is_for_sizes_that_are_not_cut(table):
    with pytest.raises(ValueError, match="offset"):
        order_drawn.DimensionTable(of=drawn.BORE, offset="0.1 mm", **table)
    assert (
        order_drawn.dimension(
            order_drawn.DimensionTable(what="diameter", of=drawn.BORE, limit="±0.1 mm", offset="-20 um")
        ).offset_mm
        == -0.02
    )
    with pytest.raises((ValueError, InputError)):
        order_drawn.DimensionTable(what="diameter", of=drawn.BORE, limit="±0.1 mm", offset="2 mm")
