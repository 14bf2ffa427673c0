"""What is said of parts that cannot be followed through the furnace, or only with doubt."""

import dataclasses

import numpy as np
import pytest

import furnace_goods as made
from furnace_shapes import FURNACE, clip, coarse, deform, green, hook, joined, table
from sagger.errors import InputError
from sagger.geometry.surface import mesh
from sagger.goods.order import Tolerance
from sagger.goods.powder import ClosedPores
from sagger.goods.sag import Misfit
from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.stations import sinter
from sagger.stations.sinter import contact_findings
from sagger.stations.sinter.firing import firing
from sagger.stations.sinter.part_findings import against_tolerance
from sagger.stations.sinter.rounds import Bent


@pytest.mark.slow
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


@pytest.mark.slow
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


@pytest.mark.slow
def test_an_arm_that_sags_onto_its_own_ledge_rests_there_and_is_told_with_its_place(monkeypatch):
    coarse(monkeypatch)
    out = deform(green(clip(0.8)), made.powder(), FURNACE)
    assert "touches itself" not in [each.what for each in out.findings]
    (told,) = (each for each in out.findings if each.what == "rests on itself")
    assert told.level == "look"
    assert told.at_mm[0] > 4 and 2.5 < told.at_mm[2] < 3.2  # towards its free end, at the ledge


def test_a_surface_that_went_through_itself_is_told_with_place_and_depth():
    shape = clip(0.8)
    arm = shape.vertices[:, 2] > 3.5
    sunk = shape.vertices - 1.5 * (arm & (shape.vertices[:, 0] > 10))[:, None] * [0.0, 0.0, 1.0]
    (told,) = contact_findings.through(shape, sunk, 0.5)
    assert (told.what, told.level) == ("touches itself", "stop") and 0.4 < told.value < 0.75
    assert told.at_mm[0] > 10 and 2 < told.at_mm[2] < 3.2
    assert not [*contact_findings.through(shape, shape.vertices, 0.5)]
    assert not [*contact_findings.resting(np.zeros(3), np.zeros((3, 3)))]


def test_a_surface_inside_out_is_told():
    cube = joined(((6, 6, 6), (0, 0, 0)))
    out = sinter.predeform(
        green(mesh.shape(cube.vertices, cube.triangles[:, ::-1])), made.powder(), FURNACE, "quick"
    )
    assert [each.what for each in out.sag.findings] == ["folded surface"]


@pytest.mark.slow
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
        each.what for each in deform(green(sheet), made.powder(), FURNACE).findings
    ]


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
