"""What intake says of shapes whose answers are known, on the cards that ship."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.errors import Cancelled, StopError
from sagger.geometry.surface import mesh
from sagger.goods.figure import Figure
from sagger.goods.good import digest
from sagger.goods.order import Choices
from sagger.stations import intake
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.turns import rotation
from sagger.tick import Tick

pytestmark = pytest.mark.slow

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
CELL = shapes.cell()
SAND = shapes.cell(powder="silica-sand", binder="furan", furnace="")
SOLID = manifold3d.Manifold


def block():
    """A cube with a hollow; not kept, for the library complains of what is left at the end."""
    return SOLID.cube((40, 40, 40), True) - SOLID.sphere(10, 64)


def checked(shape, cell=CELL, unit_from="order", choices=None, **given):
    return intake.check(shapes.request(**given), shapes.file(shape, unit_from), cell, choices or Choices())


def found(part, what):
    """The one finding of this name."""
    (one,) = [finding for finding in part.findings if finding.what == what]
    return one


def test_a_plain_block_is_fine_in_every_respect():
    part = checked(shapes.box(30, 20, 10))
    assert {finding.level for finding in part.findings} == {"ok"}
    assert not part.stopped
    np.testing.assert_allclose([part.volume_mm3, part.area_mm2], [6000, 2200], rtol=1e-12)
    np.testing.assert_allclose([*part.extent_mm, part.thickest_mm], [30, 20, 10, 10], rtol=1e-4)


def test_every_limit_of_a_card_names_its_source():
    for finding in checked(shapes.box(30, 20, 10)).findings:
        if finding.what not in ("unit", "open mesh", "self-crossing"):
            assert finding.source
            assert finding.limit is not None


def test_scale_comes_first_then_turns_about_x_y_and_z():
    part = checked(shapes.box(30, 20, 10), scale=2.0, rotation_deg=(90.0, 0.0, 90.0))
    np.testing.assert_allclose(part.extent_mm, [20, 60, 40], rtol=1e-12)
    point = rotation((90, 0, 90)) @ [0, 1, 0]  # y to z about x; z stays about z
    np.testing.assert_array_equal(point, [0, 0, 1])


@pytest.mark.parametrize("orientations, count", [("fixed", 1), ("upright", 4), ("free", 24)])
def test_allowed_turns_are_rotations_as_filed_first(orientations, count):
    turns = intake.turns(orientations)
    assert turns.shape == (count, 3, 3)
    np.testing.assert_array_equal(turns[0], np.eye(3))
    np.testing.assert_array_equal(turns @ np.swapaxes(turns, 1, 2), np.broadcast_to(np.eye(3), turns.shape))
    np.testing.assert_allclose(np.linalg.det(turns), 1, rtol=1e-12)
    assert len({turn.tobytes() for turn in turns + 0.0}) == count
    if orientations != "free":
        assert (turns[:, 2, 2] == 1).all()


def test_an_assumed_unit_is_a_thing_to_look_at():
    finding = found(checked(shapes.box(1, 2, 3), unit_from="assumed"), "unit")
    assert finding.level == "look"
    assert "Read in inches it would be 25.4 x 50.8 x 76.2 mm" in finding.text
    assert 'unit = "in"' in finding.remedy


def test_a_unit_that_the_file_contradicts_is_a_thing_to_look_at():
    made = shapes.file(shapes.box(1, 2, 3), unit_from="file")
    asked = intake.check(shapes.request(unit="in"), made, CELL, Choices())
    finding = found(asked, "unit")
    assert finding.level == "look" and "The order says in, the file itself says mm" in finding.text
    assert found(intake.check(shapes.request(unit="mm"), made, CELL, Choices()), "unit").level == "ok"


def test_an_open_surface_is_stopped_with_its_edges_and_place():
    half = shapes.without(shapes.sphere(), *range(2560))
    part = checked(half)
    finding = found(part, "open mesh")
    assert part.stopped
    assert finding.value == len(mesh.open_edges(mesh.welded(half)))
    np.testing.assert_allclose(np.linalg.norm(finding.at_mm), 10, rtol=0.01)


def test_what_was_mended_is_told():
    part = checked(shapes.turned(shapes.sphere(), slice(None)))
    assert part.healed == ("1 inside-out shell turned out",)
    assert found(part, "open mesh").level == "ok"
    filled = checked(shapes.without(shapes.sphere(), 5))
    assert found(filled, "hole filled").level == "look"


def test_a_solid_in_a_solid_is_looked_at():
    part = checked(mesh.merged([shapes.sphere(20), shapes.sphere(8)]))
    assert found(part, "shell in shell").level == "look"
    assert found(part, "trapped powder").level == "stop"


def test_oversize_keeps_the_mass_of_solid():
    """k^3 = sintered over green density; sand keeps its size."""
    law = CELL.powder.sintering
    k3 = law.sintered_density.value / law.green_density.value
    np.testing.assert_allclose(oversize(CELL.powder) ** 3, k3, rtol=1e-12)
    assert oversize(SAND.powder) == 1.0


def test_a_part_that_fits_only_green_size_over_is_stopped_by_how_much():
    length = (CELL.box.length_x.value - 2 * CELL.box.wall_gap.value) * 1000
    part = checked(shapes.box(length - 1, 20, 20), orientations="fixed")
    finding = found(part, "too big for box")
    assert finding.level == "stop"
    over = (length - 1) * oversize(CELL.powder) - length
    np.testing.assert_allclose(finding.value - finding.limit, over, rtol=1e-9)
    assert f"{over:.2f} mm too long along x" in finding.text
    assert found(checked(shapes.box(length - 1, 20, 20), cell=SAND), "too big for box").level == "ok"


def test_allowed_turns_are_tried_before_a_part_is_too_big():
    box = CELL.box
    along = (box.length_x.value - 2 * box.wall_gap.value) * 1000 / oversize(CELL.powder) - 1
    across = shapes.box(20, along, 20)
    assert found(checked(across, orientations="fixed"), "too big for box").level == "stop"
    assert found(checked(across, orientations="upright"), "too big for box").level == "ok"


def test_sand_has_no_furnace_to_fit():
    assert not [f for f in checked(shapes.box(9, 9, 9), SAND).findings if f.what == "too big for furnace"]


def test_a_shelf_limits_the_height():
    high = CELL.furnace.shelf_height.value * 1000 / oversize(CELL.powder) + 1
    assert found(checked(shapes.box(high, 10, 10), orientations="fixed"), "too big for furnace").level == "ok"
    upright = checked(shapes.box(10, 10, high), orientations="upright")
    assert found(upright, "too big for furnace").level == "stop"


def plate(thickness, width=30.0):
    """A block with a fin."""
    fin = SOLID.cube((width, thickness, 20)).translate((0, 10, 9))
    return shapes.of(SOLID.cube((30, 30, 10)) + fin)


@pytest.mark.parametrize("share, level", [(1.05, "ok"), (0.95, "look"), (0.02, "stop")])
def test_a_fin_against_the_least_wall(share, level):
    least = CELL.powder.least_wall.value * 1000
    finding = found(checked(plate(least * share)), "thin wall")
    assert finding.level == level
    if level == "look":
        np.testing.assert_allclose([finding.value, finding.limit], [0.95 * least, least], rtol=1e-6)
        assert 10 <= finding.at_mm[1] <= 10 + least
        assert finding.at_mm[2] > 10


def test_a_wall_is_stopped_below_one_drop_pitch_or_two_layers_at_green_size():
    pitch, k = 1000 / CELL.head.resolution_y.value, oversize(CELL.powder)
    assert found(checked(plate(1.05 * pitch / k), orientations="fixed"), "thin wall").level == "look"
    finding = found(checked(plate(0.95 * pitch / k), orientations="fixed"), "thin wall")
    assert finding.level == "stop"
    np.testing.assert_allclose([finding.value, finding.limit], [0.95 * pitch, pitch], rtol=1e-6)


def test_a_part_that_is_all_thin_wall_weighs_more_than_a_thin_fin():
    thin = 0.9 * CELL.powder.least_wall.value * 1000
    fin, sheet = (found(checked(shape), "thin wall") for shape in (plate(thin), shapes.box(30, 30, thin)))
    assert (fin.level, sheet.level) == ("look", "look") and fin.weight < sheet.weight


def test_a_flat_skin_is_limited_by_two_layers():
    layers, k = 2000 * CELL.powder.layer.value, oversize(CELL.powder)
    for share, level in ((1.05, "look"), (0.95, "stop")):
        sheet = shapes.box(30, 30, share * layers / k)
        assert found(checked(sheet, orientations="fixed"), "thin wall").level == level


def test_the_layer_that_the_order_chooses_is_the_limit():
    k = oversize(CELL.powder)
    sheet = shapes.box(30, 30, 1.5 * 2 * 1e3 * CELL.powder.layer.value / k)
    assert found(checked(sheet, orientations="fixed"), "thin wall").level == "look"
    thick = Choices(layer_um=2e6 * CELL.powder.layer.value)
    assert found(checked(sheet, orientations="fixed", choices=thick), "thin wall").level == "stop"


@pytest.mark.parametrize("size", [(30, 30, 0.4), (30, 30, 3)])
def test_a_plate_as_thin_as_the_soak_is_told(size):
    choices = Choices(layer_um=50.0, depth_um=510.0)  # ten layers
    part = checked(shapes.box(*size), orientations="fixed", choices=choices)
    told = [finding for finding in part.findings if finding.what == "plate thinner than soak"]
    assert [finding.level for finding in told] == (["look"] if size[2] * oversize(CELL.powder) <= 0.5 else [])
    for finding in told:
        np.testing.assert_allclose(
            (finding.value, finding.limit), (0.4 * oversize(CELL.powder), 0.5), rtol=1e-6
        )


def test_a_wall_as_thin_as_twice_the_bleed_is_told_unless_the_part_says_otherwise():
    choices, wall = Choices(bleed_um=150.0), shapes.box(0.2, 30, 30)
    told = found(checked(wall, orientations="fixed", choices=choices), "wall thinner than bleed")
    np.testing.assert_allclose((told.value, told.limit), (0.2 * oversize(CELL.powder), 0.3), rtol=1e-6)
    for bleed_um in (50.0, 0.0):
        part = checked(wall, orientations="fixed", choices=choices, bleed_um=bleed_um)
        whats = {each.what for each in part.findings}
        assert "wall thinner than bleed" not in whats


def test_what_is_left_open_is_as_on_the_powder_card():
    bleed = Figure(value=3e-5, u=0.0, printed="30 um", source="s", where="w", standing="measured")
    share = dataclasses.replace(bleed, value=0.6, printed="60 %")
    powder = dataclasses.replace(CELL.powder, bleed=bleed, core_saturation=share)
    held = intake.chosen(Choices(core_saturation=0.7), powder)
    assert (held.bleed_um, held.core_saturation, held.depth_um, held.skin_mm) == (30.0, 0.7, None, None)
    assert intake.chosen(Choices(bleed_um=0.0), powder).bleed_um == 0.0


def test_other_choices_do_not_have_a_part_looked_at_again():
    chosen = Choices(layer_um=40.0, bleed_um=10.0, gap_mm=7.0, snap=True, compression="g4", seed=5)
    assert digest(intake.asked(chosen)) == digest(Choices(layer_um=40.0, bleed_um=10.0))


@pytest.mark.parametrize("share, level", [(1.1, "ok"), (0.9, "look")])
def test_a_slot_against_the_least_gap(share, level):
    least = CELL.powder.least_gap.value * 1000
    slot = SOLID.cube((share * least, 20, 6)).translate((9, 0, 4))
    finding = found(checked(shapes.of(SOLID.cube((20, 20, 10)) - slot)), "narrow gap")
    assert finding.level == level
    np.testing.assert_allclose(finding.value, share * least, rtol=1e-6)


def test_powder_in_a_sealed_hollow_is_weighed():
    part = checked(shapes.of(block()))
    finding = found(part, "trapped powder")
    powder = CELL.powder
    assert finding.level == "stop"
    np.testing.assert_allclose(finding.value, SOLID.sphere(10, 64).volume(), rtol=1e-9)
    mass = finding.value * 1e-6 * oversize(powder) ** 3 * powder.packing.value * powder.solid_density.value
    assert f"{mass:.3g} g of powder" in finding.text


@pytest.mark.parametrize("share, level", [(0.6, "look"), (1.4, "ok")])
def test_a_bore_against_the_escape_channel(share, level):
    radius = share * CELL.powder.escape_channel.value * 1000 / 2
    bore = SOLID.cylinder(30, radius, radius, 48)
    assert found(checked(shapes.of(block() - bore)), "trapped powder").level == level


def test_the_same_file_gives_the_same_part():
    one, other = (checked(shapes.of(block())) for _ in range(2))
    assert digest(one) == digest(other)


def test_a_surface_of_which_nothing_is_left_is_a_clear_no():
    flat = mesh.shape(
        np.array([[0.0, 0, 0], [1, 1, 1], [2, 2, 3]]), np.array([[0, 0, 1], [1, 2, 2], [0, 1, 2]])
    )
    with pytest.raises(StopError, match="no surface is left"):
        checked(flat)


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 10**6), torn=st.floats(0, 0.3), flipped=st.floats(0, 0.5), noise=st.floats(0, 2))
def test_however_broken_a_surface_is_it_comes_back_with_findings(seed, torn, flipped, noise):
    rng, whole = np.random.default_rng(seed), shapes.sphere(10, 2)
    kept = shapes.turned(whole, rng.random(len(whole.triangles)) < flipped)
    kept = shapes.without(kept, *np.flatnonzero(rng.random(len(whole.triangles)) < torn))
    part = checked(mesh.shape(kept.vertices + rng.normal(0, noise, kept.vertices.shape), kept.triangles))
    assert np.isfinite([part.volume_mm3, part.area_mm2, part.thickest_mm]).all()
    assert found(part, "open mesh").level in ("ok", "look", "stop")
    assert len(mesh.open_edges(part.shape)) == found(part, "open mesh").value


def test_work_can_be_followed_and_stopped():
    said = []
    tick = Tick(lambda doing, done, total: said.append((doing, done, total)), lambda: False)
    intake.check(shapes.request(), shapes.file(shapes.box(9, 9, 9)), CELL, Choices(), tick=tick)
    assert (said[0][0], said[-1][1:]) == ("healing", (4, 4))
    stopped = Tick(lambda *_: None, lambda: True)
    with pytest.raises(Cancelled):
        intake.check(shapes.request(), shapes.file(shapes.box(9, 9, 9)), CELL, Choices(), tick=stopped)


def test_a_gap_narrower_than_a_drop_is_told_as_printed_shut():
    """Two blocks whose faces lie 2 um apart, joined at the bottom: no layer shows the gap."""
    slot = SOLID.cube((0.002, 20, 6)).translate((9, 0, 4))
    finding = found(checked(shapes.of(SOLID.cube((20, 20, 10)) - slot)), "narrow gap")
    assert finding.level == "look" and "both sides are printed as one" in finding.text
    np.testing.assert_allclose(finding.value, 0.002 * oversize(CELL.powder), rtol=1e-6)
    np.testing.assert_allclose(finding.limit, 1000 / CELL.head.resolution_y.value, rtol=1e-9)
