"""The shape from the furnace, and the green shape that comes out right."""

import numpy as np
import pytest
import trimesh

import furnace_goods as made
from furnace_shapes import FURNACE, bracket, coarse, deform, green, joined, table, tube
from sagger.geometry.cells import warp
from sagger.geometry.surface import mesh
from sagger.goods.learned import BedMap
from sagger.stations import sinter
from sagger.stations.sinter.shape import GRIDS, Grids


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
    again = deform(bent, made.powder(), FURNACE, "quick")
    np.testing.assert_allclose(again.misfit.rms_mm, bent.sag.after.rms_mm, atol=0.01)


@pytest.mark.slow
def test_without_weight_to_speak_of_factors_are_all_it_takes():
    light = made.powder(solid_density=10.0)
    out = deform(green(table()), light, FURNACE)
    assert out.misfit.most_mm < 2e-3


@pytest.mark.slow
def test_a_hotter_side_is_shorter_and_denser_before_all_is_sintered():
    card = made.powder(
        made.sintering(programme=(made.BURN, made.segment(degc=1300.0)), sintered_density=0.85)
    )
    k = (0.85 / 0.55) ** (1 / 3)
    uneven = sinter.Uneven(temperature=(1500.0, 0.0, 0.0))
    out = deform(green(joined(((16, 8, 6), (0, 0, 0))), k=(k, k, k)), card, FURNACE, uneven=uneven)
    x = out.surface.vertices[:, 0]
    assert out.density[x > 5].mean() > out.density[x < -5].mean() + 0.02
    width = [np.ptp(out.surface.vertices[side, 1]) for side in (x < -6, x > 6)]
    assert width[1] < width[0] - 0.02


@pytest.mark.slow
def test_an_arm_that_reaches_the_setter_rests_on_it(monkeypatch):
    coarse(monkeypatch)
    out = deform(green(joined(((12, 8, 10), (0, 0, 0)), ((26, 8, 2), (0, 0, 0.6)))), made.powder(), FURNACE)
    tip = out.surface.vertices[out.nominal[:, 0] > 12.9]
    assert abs(tip[:, 2].min()) < 0.04
    assert (out.nominal[:, 2] - out.surface.vertices[:, 2]).max() > 0.4


@pytest.mark.slow
def test_upside_down_it_sags_far_more(monkeypatch):
    coarse(monkeypatch)
    down = table()
    flat = mesh.shape(down.vertices * [1, -1, -1], down.triangles)
    sags = [deform(green(each), made.powder(), FURNACE).misfit.most_mm for each in (down, flat)]
    assert sags[0] > 8 * sags[1]


@pytest.mark.slow
def test_a_ball_on_one_point_of_the_setter_is_followed(monkeypatch):
    coarse(monkeypatch)
    ball = trimesh.creation.icosphere(subdivisions=3, radius=6)
    out = deform(green(mesh.shape(ball.vertices, ball.faces.astype(np.int32))), made.powder(), FURNACE)
    assert (
        out.misfit.fit_rms_mm < 0.01 < out.misfit.most_mm < 0.2
    )  # it flattens where it stands, and only there


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
