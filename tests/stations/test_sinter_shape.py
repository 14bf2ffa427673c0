"""The shape from the furnace, and the green shape that comes out right."""

import dataclasses

import manifold3d
import numpy as np
import pytest
import trimesh

import furnace_goods as made
from sagger.errors import InputError
from sagger.geometry import mesh, warp
from sagger.goods.learned import BedMap
from sagger.goods.order import Tolerance
from sagger.goods.powder import ClosedPores
from sagger.goods.sag import Misfit
from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.stations import sinter
from sagger.stations.sinter import met
from sagger.stations.sinter import shape as sinter_shape
from sagger.stations.sinter.firing import firing
from sagger.stations.sinter.rounds import Bent
from sagger.stations.sinter.shape import GRIDS, Grids
from sagger.stations.sinter.told import against_tolerance


def joined(*boxes):
    """One surface of boxes (size, corner)."""
    whole = manifold3d.Manifold()
    for size, at in boxes:
        whole = whole + manifold3d.Manifold.cube(size).translate(at)
    out = whole.to_mesh()
    return mesh.shape(out.vert_properties[:, :3], out.tri_verts)


def table(span=24.0):
    """A plate on a stem, sagging at both ends."""
    return joined(((5, 8, 10), (span / 2 - 2.5, 0, 0)), ((span, 8, 3), (0, 0, 10)))


def bracket():
    """T: stem 6 x 12 x 20 mm under a bar of 48 x 12 x 4 mm."""
    return joined(((6, 12, 24), (21, 0, 0)), ((48, 12, 4), (0, 0, 20)))


def tube():
    """30 mm wide, 3 mm thick, 20 mm long, on its side."""
    import trimesh

    ring = trimesh.creation.annulus(12, 15, 20, sections=96)
    ring.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))
    return mesh.shape(ring.vertices - [0, 0, ring.vertices[:, 2].min()], ring.faces)


def hook():
    """A foot under one end of a long arm: it tips over."""
    return joined(((3, 6, 8), (0, 0, 0)), ((30, 6, 4), (0, 0, 8)))


def green(shape, **changes):
    part = made.part(size=tuple(np.ptp(shape.vertices, axis=0)))
    part = dataclasses.replace(part, shape=shape, volume_mm3=mesh.volume(shape))
    return made.green(part, made.factors(k=changes.get("k", (1.1923, 1.1923, 1.2278))))


FURNACE = made.furnace(friction=0.3)


@pytest.fixture(scope="module")
def bent():
    return sinter.predeform(green(bracket()), made.powder(), FURNACE, "quick")


@pytest.mark.slow
def test_a_bent_part_comes_out_far_nearer_to_nominal(bent):
    """The bracket of another program, from 1.27 to 0.04 mm on an unrelated grid; 0.05 mm allowed."""
    sag = bent.sag
    assert 1.0 < sag.before.rms_mm < 1.5
    assert sag.after.rms_mm < 0.05
    assert sag.finished.cells > 1.5 * sag.cells  # checked on a finer grid
    assert all(finding.level == "ok" for finding in sag.findings)


@pytest.mark.slow
def test_how_far_off_it_would_be_unbent_is_kept_at_each_vertex(bent):
    sag, off = bent.sag, np.linalg.norm(bent.sag.untreated_mm, axis=1)
    np.testing.assert_allclose(off.max(), sag.before.most_mm, rtol=1e-12)
    assert off.shape == sag.finished.density.shape
    high = sag.finished.nominal[:, 2] > 0.9 * np.ptp(sag.finished.nominal[:, 2])
    assert sag.untreated_mm[high, 2].min() < -0.1  # the plate hangs down


@pytest.mark.slow
def test_it_is_bent_upwards_on_its_own_triangles_and_stays_flat_below(bent):
    plain = warp.divided(bent.part.shape, 1e9)
    old = bent.shape.vertices[: len(plain.vertices)]
    ends = np.abs(plain.vertices[:, 0] - 24) > 23.9
    np.testing.assert_array_less(0.05, (old - plain.vertices)[ends, 2])
    sole = plain.vertices[:, 2] < 1e-9
    assert np.ptp(old[sole, 2]) < 1e-9
    assert mesh.volume(bent.shape) > 0 and not len(mesh.open_edges(bent.shape))


@pytest.mark.slow
def test_a_tube_on_its_side_is_bent_round(monkeypatch):
    """From 1.5 mm to 0.05 mm or less on an unrelated grid, all grids coarse here."""
    monkeypatch.setitem(GRIDS, "quick", Grids(1_500, 4_000))
    sag = sinter.predeform(green(tube()), made.powder(), FURNACE, "quick").sag
    assert 1.3 < sag.before.rms_mm < 1.7
    assert sag.after.rms_mm < 0.05


@pytest.mark.slow
def test_what_the_full_furnace_makes_of_it_is_what_was_told(bent):
    again = sinter.deform(bent, made.powder(), FURNACE, "quick")
    np.testing.assert_allclose(again.misfit.rms_mm, bent.sag.after.rms_mm, atol=0.01)


@pytest.mark.slow
def test_without_weight_to_speak_of_factors_are_all_it_takes():
    light = made.powder(solid_density=10.0)
    out = sinter.deform(green(table()), light, FURNACE)
    assert out.misfit.most_mm < 2e-3


@pytest.mark.slow
def test_a_hotter_side_is_shorter_and_denser_before_all_is_sintered():
    card = made.powder(
        made.sintering(programme=(made.BURN, made.segment(degc=1300.0)), sintered_density=0.85)
    )
    k = (0.85 / 0.55) ** (1 / 3)
    uneven = sinter.Uneven(temperature=(1500.0, 0.0, 0.0))
    out = sinter.deform(green(joined(((16, 8, 6), (0, 0, 0))), k=(k, k, k)), card, FURNACE, uneven=uneven)
    x = out.surface.vertices[:, 0]
    assert out.density[x > 5].mean() > out.density[x < -5].mean() + 0.02
    width = [np.ptp(out.surface.vertices[side, 1]) for side in (x < -6, x > 6)]
    assert width[1] < width[0] - 0.02


def test_a_part_that_falls_over_is_told_and_left_as_it_is():
    out = sinter.predeform(green(hook()), made.powder(), FURNACE, "quick")
    assert [each.what for each in out.sag.findings if each.level == "stop"] == ["falls over"]
    assert out.shape is out.part.shape and out.sag.after is None


@pytest.mark.parametrize(
    ("degc", "what"), [(900.0, "does not sinter"), (1445.0, "fired far too hot"), (1370.0, "")]
)
def test_a_programme_that_is_far_off_is_told(degc, what):
    hold = 1.0 if degc < 1400 else 40.0
    card = made.powder(made.sintering(programme=(made.BURN, made.segment(degc=degc, hold_h=hold))))
    how = firing(card, card.sintering, FURNACE, made.factors())
    assert [each.what for each in how.findings] == ([what] if what else [])


def test_factors_that_no_body_sinters_from_are_told():
    card = made.powder()
    how = firing(card, card.sintering, FURNACE, made.factors(k=(1.6, 1.6, 1.6)))
    assert [each.what for each in how.findings] == ["factors and density"]


def test_an_open_surface_and_loose_pieces_are_told():
    torn = table()
    torn = Shape(
        vertices=torn.vertices,
        triangles=np.delete(torn.triangles, np.argmax(mesh.area_vectors(torn)[:, 2]), axis=0),
    )
    out = sinter.predeform(green(torn), made.powder(), FURNACE, "quick")
    assert "open surface" in [each.what for each in out.sag.findings if each.level == "stop"]
    two = joined(((6, 6, 6), (0, 0, 0)), ((6, 6, 6), (20, 0, 0)))
    out = sinter.predeform(green(two), made.powder(), FURNACE, "quick")
    assert "loose bodies" in [each.what for each in out.sag.findings if each.level == "stop"]


def test_sand_is_not_bent():
    with pytest.raises(InputError, match="not sintered"):
        sinter.predeform(green(table()), made.sand(), FURNACE, "quick")


def test_the_mean_of_scans_is_taken_off_and_one_scan_is_refused():
    part = green(table())
    off = np.zeros((2, *part.shape.vertices.shape))
    off[0, :, 2], off[1, :, 2] = 0.3, 0.1
    out = sinter.by_scans(part, off)
    np.testing.assert_allclose(out.shape.vertices[:, 2], part.shape.vertices[:, 2] - 0.2, atol=1e-12)
    with pytest.raises(InputError, match="two parts or more"):
        sinter.by_scans(part, off[:1])


def coarse(monkeypatch):
    """Parts on few cells: what is told does not hang on them."""
    monkeypatch.setitem(sinter_shape.GRIDS, "quick", sinter_shape.Grids(400, 800))


def clip(gap):
    """An arm over a ledge, both on one root."""
    return joined(((20, 6, 3), (0, 0, 0)), ((4, 6, 3 + gap + 1), (0, 0, 0)), ((20, 6, 1.6), (0, 0, 3 + gap)))


@pytest.mark.slow
def test_an_arm_that_sags_onto_its_own_ledge_rests_there_and_is_told_with_its_place(monkeypatch):
    coarse(monkeypatch)
    out = sinter.deform(green(clip(0.8)), made.powder(), FURNACE)
    assert "touches itself" not in [each.what for each in out.findings]
    (told,) = (each for each in out.findings if each.what == "rests on itself")
    assert told.level == "look"
    assert told.at_mm[0] > 4 and 2.5 < told.at_mm[2] < 3.2  # towards its free end, at the ledge


def test_a_surface_that_went_through_itself_is_told_with_place_and_depth():
    shape = clip(0.8)
    arm = shape.vertices[:, 2] > 3.5
    sunk = shape.vertices - 1.5 * (arm & (shape.vertices[:, 0] > 10))[:, None] * [0.0, 0.0, 1.0]
    (told,) = met.through(shape, sunk, 0.5)
    assert (told.what, told.level) == ("touches itself", "stop") and 0.4 < told.value < 0.75
    assert told.at_mm[0] > 10 and 2 < told.at_mm[2] < 3.2
    assert not met.through(shape, shape.vertices, 0.5)
    assert not met.resting(np.zeros(3), np.zeros((3, 3)))


@pytest.mark.slow
def test_an_arm_that_reaches_the_setter_rests_on_it(monkeypatch):
    coarse(monkeypatch)
    out = sinter.deform(
        green(joined(((12, 8, 10), (0, 0, 0)), ((26, 8, 2), (0, 0, 0.6)))), made.powder(), FURNACE
    )
    tip = out.surface.vertices[out.nominal[:, 0] > 12.9]
    assert abs(tip[:, 2].min()) < 0.04
    assert (out.nominal[:, 2] - out.surface.vertices[:, 2]).max() > 0.4


@pytest.mark.slow
def test_upside_down_it_sags_far_more(monkeypatch):
    coarse(monkeypatch)
    down = table()
    flat = mesh.shape(down.vertices * [1, -1, -1], down.triangles)
    sags = [sinter.deform(green(each), made.powder(), FURNACE).misfit.most_mm for each in (down, flat)]
    assert sags[0] > 8 * sags[1]


def test_a_surface_inside_out_is_told():
    cube = joined(((6, 6, 6), (0, 0, 0)))
    out = sinter.predeform(
        green(mesh.shape(cube.vertices, cube.triangles[:, ::-1])), made.powder(), FURNACE, "quick"
    )
    assert [each.what for each in out.sag.findings] == ["folded surface"]


def test_a_programme_above_the_solidus_is_told_and_nothing_is_bent():
    hot = made.sintering(programme=(made.BURN, made.segment(degc=1420.0)), solidus=1390.0 + 273.15)
    out = sinter.predeform(green(table()), made.powder(hot), FURNACE, "quick")
    assert "melt-through" in [each.what for each in out.sag.findings if each.level == "stop"]
    assert out.shape is out.part.shape


@pytest.mark.slow
def test_walls_thinner_than_cells_are_told(monkeypatch):
    coarse(monkeypatch)
    sheet = joined(((40, 40, 0.3), (0, 0, 0)), ((6, 6, 5), (17, 17, 0)))
    assert "thin for the grid" in [
        each.what for each in sinter.deform(green(sheet), made.powder(), FURNACE).findings
    ]


@pytest.mark.slow
def test_a_ball_on_one_point_of_the_setter_is_followed(monkeypatch):
    coarse(monkeypatch)
    ball = trimesh.creation.icosphere(subdivisions=3, radius=6)
    out = sinter.deform(green(mesh.shape(ball.vertices, ball.faces.astype(np.int32))), made.powder(), FURNACE)
    assert (
        out.misfit.fit_rms_mm < 0.01 < out.misfit.most_mm < 0.2
    )  # it flattens where it stands, and only there


@pytest.mark.parametrize(("asked_mm", "level"), [(0.2, "ok"), (0.1, "look")])
def test_what_is_left_is_measured_by_half_the_tolerance(asked_mm, level):
    before, after = (Misfit(rms_mm=rms, most_mm=3 * rms, fit_rms_mm=rms / 2) for rms in (0.5, 0.03))
    nodes = Bent(np.zeros((0, 3)), before, after, 3, True, np.zeros((0, 3)), np.zeros((0, 3)))
    told = against_tolerance(with_tolerance(green(table()), asked_mm), nodes, after)
    assert told.level == level
    assert f"{0.09 / asked_mm:.0%} of the ±{asked_mm:g} mm" in told.text and "rms 0.030 mm" in told.text


def with_tolerance(part, mm):
    request = dataclasses.replace(part.part.request, tolerance=Tolerance(kind="mm", value=mm))
    return dataclasses.replace(part, part=dataclasses.replace(part.part, request=request))


@pytest.mark.slow
def test_a_green_part_denser_on_top_is_bent_for_that(monkeypatch):
    coarse(monkeypatch)
    places = np.array([[x, y, z] for x in (10.0, 90.0) for y in (10.0, 50.0) for z in (5.0, 65.0)])
    bed = BedMap(
        box="box",
        material="steel",
        places_mm=places,
        density=0.55 + 5e-4 * (places[:, 2] - 35),
        noise=1e-4,
        axes=(0, 1, 2),
        amplitude=0.0,
        reach_mm=np.full(3, 50.0),
        reference=0.55,
    )
    block = green(joined(((12, 12, 16), (0, 0, 0))))
    out = sinter.predeform(block, made.powder(solid_density=10.0), FURNACE, "quick", bed)
    v = out.shape.vertices
    widths = [np.ptp(v[rows, 0]) for rows in (v[:, 2] < 1, v[:, 2] > 15)]
    assert widths[0] > widths[1] + 0.03  # what is looser shrinks more
    assert out.sag.after.rms_mm < 0.2 * out.sag.before.rms_mm
    assert "green density over the part" in [each.what for each in out.sag.findings]


def test_gas_that_ends_densification_is_told():
    pores = ClosedPores(closure=made.fig(0.92), radius=made.fig(20e-6))
    argon = tuple(
        dataclasses.replace(each, atmosphere="argon")
        for each in (made.BURN, made.segment(degc=1370.0, hold_h=4))
    )
    card = made.sintering(programme=argon, closed_pores=pores, sintered_density=0.985)
    how = firing(made.powder(card), card, made.furnace(atmospheres=("argon",)), made.factors())
    assert [each.what for each in how.findings] == ["gas in closed pores"]
    easy = dataclasses.replace(card, closed_pores=ClosedPores(closure=made.fig(0.92), radius=made.fig(4e-6)))
    how = firing(made.powder(easy), easy, made.furnace(atmospheres=("argon",)), made.factors())
    course = how.setting.course
    assert not how.findings
    np.testing.assert_allclose(
        solid.end(how.green_density, course.decay[0], course.shut), how.final_density, rtol=1e-6
    )
