"""General tolerances of form, of angles and of edges: what they are put on, by hand, and how they count."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sagger.desk.planning import limits
from sagger.errors import InputError, OrderError
from sagger.files import order_general, read_part
from sagger.goods.drawing import Dimension, Drawing
from sagger.goods.order import Choices
from sagger.stations import intake

HERE = Path(__file__).parent
shapes = SimpleNamespace(**runpy.run_path(str(HERE.parent / "part_shapes.py")))
drawn = SimpleNamespace(**runpy.run_path(str(HERE / "test_promise_drawn.py")))
made = SimpleNamespace(**runpy.run_path(str(HERE.parent / "step_files.py")))
line = drawn.line


def form(text):
    return limits.with_form(order_general.general_form(text))


def named(what, of, text, **more):
    return limits.with_table(line(what, of, text, **more))


@pytest.mark.slow
def test_a_class_of_form_is_put_on_faces_without_their_own():
    """Block 40 x 30 x 12, four faces stated: flatness by the longer side, squareness by the shorter one."""
    asked = [
        line("thickness", drawn.LEFT, "±0.1 mm", to=[drawn.RIGHT]),
        line("flatness", drawn.BOTTOM, "0.01 mm"),
        line("diameter", drawn.BORE, "±0.2 mm"),
    ]
    part = drawn.part(*asked, form=form("ISO 2768-K"))
    lines = [zone for zone in part.drawing.tolerances if zone.name == "by ISO 2768-K"]
    by_kind = {(zone.kind, zone.width_mm): len(zone.faces) for zone in lines}
    assert by_kind[("flatness", 0.1)] == 2  # left and right: 30 mm
    assert by_kind[("flatness", 0.2)] == 1  # front: 40 mm; the bottom has its own
    assert by_kind[("roundness", 0.2)] == 1  # the size allows 0.4 mm, runout 0.2 mm
    square = [zone for zone in lines if zone.kind == "perpendicularity"]
    assert {zone.width_mm for zone in square} == {0.4}
    assert all(zone.evaluated and zone.datums[0].startswith("face ") for zone in square)
    (told,) = [finding for finding in part.findings if finding.what == "general tolerance"]
    assert "withdrawn" in told.remedy and "flatness 0.1 mm on 2 faces" in told.text


@pytest.mark.slow
def test_a_general_profile_counts_in_the_same_draws():
    """All of a bare mesh that no line names is one zone about it, seen from the datums."""
    part = drawn.part(form=form("profile 0.1 mm to A B C"))
    (zone,) = part.drawing.tolerances
    assert (zone.name, zone.kind, zone.datums) == ("general profile", "surface profile", ("A", "B", "C"))
    (wide,) = drawn.promised(part, u=(1.19e-3, 0.0, 0.0)).lines
    rng = np.random.default_rng(1)
    datum = rng.uniform(-0.5, 0.5, 200_000) * 0.0635 / 1.19  # of the left face, on the drops
    moved = 40 * rng.normal(0, 1e-3, 200_000) + datum
    np.testing.assert_allclose(wide.chance, (2 * abs(moved) <= 0.1).mean(), atol=0.01)
    assert drawn.promised(part, u=(0.1e-3, 0.0, 0.0)).pieces[0].chance > wide.chance


@pytest.mark.slow
def test_faces_of_a_step_file_are_known_without_a_line_about_them(tmp_path):
    """Block 30 x 20 x 2 with no drawing: two ends by 20 mm, the others by 30 mm, all in one step."""
    (tmp_path / "plate.step").write_text(made.bodies([("plate", (0, 0, 0), (30, 20, 2))]))
    request = shapes.request(form=form("ISO 2768-H"), drawing="none")
    drawing = intake.check(request, read_part(tmp_path / "plate.step"), drawn.CELL, Choices()).drawing
    flat = {zone.width_mm: len(zone.faces) for zone in drawing.tolerances if zone.kind == "flatness"}
    assert flat == {0.05: 6}
    square = [number for zone in drawing.tolerances if zone.datums for number in zone.faces]
    assert len(square) == len(set(square)) >= 4


@pytest.mark.parametrize(
    "text", ["ISO 2768-M", "ISO 2768-Z", "profile", "profile 0 mm", "profile 0.5 mm to a b"]
)
def test_what_is_no_general_form_is_refused(text):
    with pytest.raises(InputError):
        order_general.general_form(text)


@pytest.mark.slow
def test_angles_go_by_their_shorter_side_and_outside_radii_by_broken_edges():
    """Wall 12 mm high on a floor 40 mm long: 30 minutes; pin of 5 mm radius: 0.5 mm."""
    (angle,) = drawn.part(named("angle", drawn.LEFT, "ISO 2768-m", to=[drawn.BOTTOM])).drawing.dimensions
    assert (angle.lower, angle.upper) == pytest.approx((89.5, 90.5))
    (outside,) = drawn.part(named("radius", drawn.PIN, "ISO 2768-m")).drawing.dimensions
    assert (outside.lower, outside.upper) == pytest.approx((4.5, 5.5))
    (inside,) = drawn.part(named("radius", drawn.BORE, "ISO 2768-m")).drawing.dimensions
    assert (inside.lower, inside.upper) == pytest.approx((3.9, 4.1))


@pytest.mark.slow
def test_a_stated_class_has_its_limits_and_an_unknown_one_is_refused_with_what_is_known():
    (size,) = drawn.part(named("diameter", drawn.BORE, "F8")).drawing.dimensions
    assert (size.fit, size.lower, size.upper) == ("F8", pytest.approx(8.013), pytest.approx(8.035))
    with pytest.raises(OrderError, match="no such letter") as refused:
        named("diameter", drawn.BORE, "Q7")
    assert "zc" in refused.value.remedy


def test_a_class_without_figures_in_a_part_file_gets_its_limits():
    bare = Dimension(
        name="", kind="diameter", nominal=3.5, lower=None, upper=None, unit="mm", fit="G6", faces=(1,), to=(),
        notes=(),
    )  # fmt: skip
    other = dataclasses.replace(bare, fit="Q6")
    drawing = Drawing(faces=(), dimensions=(bare, other), tolerances=(), datums=(), lost=())
    known, unknown = limits.with_classes(drawing).dimensions
    assert (known.lower, known.upper) == pytest.approx((3.504, 3.512))
    assert "from memory" in known.notes[0] and unknown.lower is None
