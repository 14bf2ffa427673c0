"""Layers from a placed box: recipe, order, threads, refusals."""

import numpy as np
import pytest
import trimesh

from sagger.errors import Cancelled, StopError
from sagger.geometry import raster
from sagger.stations import layers
from sagger.tick import Tick


def cube(size=5.0):
    return trimesh.creation.box(extents=(size, size, size))


def test_the_recipe_holds_what_fits(bed):
    recipe = bed.stack(
        [(cube(), bed.placed(10, 10, 2.5))], size_mm=(25.4, 12.7, 20), dpi=(1200, 400), layer_um=50
    )
    assert (recipe.columns, recipe.rows, recipe.count) == (1200, 200, 100)
    np.testing.assert_allclose(recipe.pitch_mm, (25.4 / 1200, 25.4 / 400), rtol=1e-12)


@pytest.mark.parametrize(("dpi", "on"), [((600, 600), True), ((1200, 400), True), ((1200, 1200), False)])
def test_jitter_is_on_at_coarse_resolutions_only(bed, dpi, on):
    assert bed.stack([(cube(), bed.placed(10, 10, 2.5))], dpi=dpi).jitter is on


def test_layer_height_comes_from_the_powder_unless_chosen(bed):
    assert bed.stack([(cube(), bed.placed(10, 10, 2.5))], layer_um=None).layer_mm == pytest.approx(
        0.05, abs=0
    )


def test_pieces_above_the_box_are_refused(bed):
    with pytest.raises(StopError, match=r"rise to 32\.500 mm, the box holds 30\.000 mm"):
        bed.stack([(cube(), bed.placed(10, 10, 30))])


def test_a_layer_that_is_not_there_is_refused(bed):
    press = layers.press(bed.stack([(cube(), bed.placed(10, 10, 2.5))]))
    with pytest.raises(StopError, match="no layer 50: the stack has layers 0 to 49"):
        layers.sheet(press, 50)


def test_layers_come_in_order_and_alike_for_any_number_of_threads(bed):
    recipe = bed.stack(
        [(bed.torus(), bed.placed(15, 15, 3)), (cube(), bed.placed(33, 25, 2.5, linear=bed.turned(30)))]
    )
    alone = [(k, s.digest, r) for k, s, r in layers.drawn(recipe, lambda k, s: s.drops, threads=1)]
    shared = [(k, s.digest, r) for k, s, r in layers.drawn(recipe, lambda k, s: s.drops, threads=3)]
    assert alone == shared
    assert [k for k, _, _ in shared] == list(range(recipe.count))


def test_random_access_gives_the_same_sheet(bed):
    recipe = bed.stack([(bed.torus(), bed.placed(15, 15, 3))])
    digests = [drawn.digest for _, drawn, _ in layers.drawn(recipe, lambda k, s: None)]
    assert layers.sheet(layers.press(recipe), 17).digest == digests[17]


def test_a_stopped_job_resumes_at_a_layer(bed):
    recipe = bed.stack([(bed.torus(), bed.placed(15, 15, 3))])
    whole = [drawn.digest for _, drawn, _ in layers.drawn(recipe, lambda k, s: None)]
    rest = [(k, drawn.digest) for k, drawn, _ in layers.drawn(recipe, lambda k, s: None, first=55)]
    assert rest == list(enumerate(whole))[55:]


def test_stop_is_heard_between_layers(bed):
    recipe, seen = bed.stack([(bed.torus(), bed.placed(15, 15, 3))]), []
    tick = Tick(lambda doing, done, total: None, lambda: len(seen) >= 3)
    with pytest.raises(Cancelled):
        for k, _, _ in layers.drawn(recipe, lambda k, s: None, tick=tick):
            seen.append(k)
    assert seen == [0, 1, 2]


def test_the_tally_adds_up_the_sheets(bed):
    recipe = bed.stack([(bed.torus(), bed.placed(15, 15, 3))])
    tally = layers.count(recipe)
    press = layers.press(recipe)
    assert tally.drops[20] == raster.count(layers.sheet(press, 20).runs)
    np.testing.assert_allclose(tally.section_mm2[20], layers.sheet(press, 20).section_mm2, rtol=1e-12)
    assert tally.drops.shape == tally.section_mm2.shape == (recipe.count,)
    assert (tally.leaks, tally.bridges) == (0, 0)


def test_a_turned_copy_shares_the_mesh(bed):
    body = bed.torus()
    pieces = [(body, bed.placed(12, 15, 3)), (body, bed.placed(28, 15, 3, linear=bed.turned(33)))]
    scene = layers.press(bed.stack(pieces)).batches[0].scene
    assert len(scene.points) == len(body.vertices)
    assert scene.group_mesh.size == 1


def test_oversize_and_turns_of_a_placement_reach_the_drops(bed):
    block = trimesh.creation.box(extents=(4, 6, 5))
    linear = np.diag([1.2, 1.1, 1.15]) @ np.array([[0, -1, 0], [0, 0, 1], [-1, 0, 0.0]])
    recipe = bed.stack([(block, bed.placed(15, 15, 2.3, linear=linear))])
    sheet = layers.sheet(layers.press(recipe), 10)
    np.testing.assert_allclose(sheet.section_mm2, (6 * 1.2) * (5 * 1.1), rtol=1e-12)
    assert recipe.count == 46


def test_a_mirrored_copy_beside_its_twin_is_solid_too(bed):
    body = trimesh.creation.box(extents=(4, 6, 5))
    pieces = [(body, bed.placed(10, 15, 2.5)), (body, bed.placed(25, 15, 2.5, linear=np.diag([-1.0, 1, 1])))]
    sheet = layers.sheet(layers.press(bed.stack(pieces)), 10)
    np.testing.assert_allclose(sheet.section_mm2, 48, rtol=1e-12)
    np.testing.assert_allclose(sheet.drops * 0.0635**2, 48, rtol=0.03)
    assert sheet.leaks == 0
