"""Compensation, skin and core, and grey levels, on parts whose answer is known by hand."""

import dataclasses

import numpy as np
import pytest
import trimesh

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.goods.stack import Patience, Style, Treatment
from sagger.stations import layers

PITCH = 25.4 / 400


def cube(size=8.0):
    return trimesh.creation.box(extents=(size, size, size))


def one(bed, **given):
    return bed.stack([(cube(), bed.placed(15.01, 15.02, 6))], **given), 6.0


def styled(stack, *treatments, **given):
    style = Style(treatments=treatments or (Treatment(),), **given)
    return dataclasses.replace(stack, style=style)


def drawn(stack, **treatment):
    return layers.press(styled(stack, Treatment(**treatment)))


@pytest.mark.parametrize("bleed_mm", [0.05, 0.4, -0.2])
def test_bleed_moves_every_outline(bed, bleed_mm):
    body = trimesh.creation.cylinder(radius=5, height=4, sections=512)
    sheet = layers.sheet(drawn(bed.stack([(body, bed.placed(15, 15, 2))]), bleed_mm=bleed_mm), 20)
    np.testing.assert_allclose(sheet.drops * PITCH**2, np.pi * (5 - bleed_mm) ** 2, rtol=1e-3)
    np.testing.assert_allclose(sheet.section_mm2, np.pi * 25, rtol=1e-3)


def test_depth_raises_undersides_only(bed):
    stack, _ = one(bed)
    plain, deep = drawn(stack), drawn(stack, depth_mm=0.3)
    filled = [k for k in range(stack.count) if layers.sheet(deep, k).drops]
    assert (filled[0], filled[-1]) == (23, 99)  # the cube is drawn in layers 20 to 99
    assert layers.sheet(deep, 50).digest == layers.sheet(plain, 50).digest


def test_skin_goes_all_round(bed):
    stack, _ = one(bed)
    press = drawn(stack, skin_mm=1.0, core=0.5)
    core = [layers.sheet(press, k).fields for k in (25, 35, 60, 95)]
    deep = [sum(raster.count(field.runs) for field in fields if field.share == 0.5) for fields in core]
    assert deep[0] == deep[3] == 0  # within a millimetre of the lower and the upper face
    np.testing.assert_allclose(np.array(deep[1:3]) * PITCH**2, 6 * 6, rtol=0.03)


def test_a_core_saves_its_share_of_drops(bed):
    stack, _ = one(bed, jitter=False)
    full, half = layers.sheet(drawn(stack), 60), layers.sheet(drawn(stack, skin_mm=1.0, core=0.5), 60)
    core = sum(raster.count(field.runs) for field in half.fields if field.share == 0.5)
    np.testing.assert_allclose(full.drops - half.drops, 0.5 * core, rtol=5e-3)
    bits = np.unpackbits(half.packed, axis=1, count=stack.columns).astype(bool)
    assert bits.sum() == half.drops
    assert not (bits & ~raster.image(half.runs)).any()


@pytest.mark.slow
@pytest.mark.parametrize("treatment", [{"skin_mm": 0.5, "core": 0.6}, {"depth_mm": 0.2, "bleed_mm": 0.02}])
def test_bands_threads_and_random_access_agree(bed, treatment):
    stack = styled(one(bed)[0], Treatment(**treatment))
    alone = [(k, s.digest) for k, s, _ in layers.drawn(stack, lambda k, s: None, threads=1)]
    rest = [(k, s.digest) for k, s, _ in layers.drawn(stack, lambda k, s: None, threads=2, first=37)]
    assert alone[37:] == rest
    assert layers.sheet(layers.press(stack), 51).digest == alone[51][1]


def test_parts_can_be_treated_differently(bed):
    first, second = cube(), cube()
    stack = bed.stack([(first, bed.placed(10, 15, 4)), (second, bed.placed(30, 15, 4))])
    stack = styled(stack, Treatment(bleed_mm=0.5), Treatment(core=0.5, skin_mm=1.0))
    image = raster.image(layers.sheet(layers.press(stack), 40).runs)
    middle = round(20 / PITCH)
    np.testing.assert_allclose(image[:, :middle].sum() * PITCH**2, 7 * 7, rtol=0.03)
    np.testing.assert_allclose(image[:, middle:].sum() * PITCH**2, 8 * 8, rtol=0.03)


@pytest.mark.parametrize("bits", [2, 4])
def test_grey_levels_hold_the_volume(bed, bits):
    body = trimesh.creation.cylinder(radius=5, height=4, sections=512)
    stack = bed.stack([(body, bed.placed(15, 15, 2))], head={"bits": bits})
    sheet = layers.sheet(layers.press(stack), 20)
    np.testing.assert_allclose(sheet.drops * PITCH**2, sheet.section_mm2, rtol=1e-3)
    assert sheet.packed.shape == (472, (629 * bits + 7) // 8)


@pytest.mark.parametrize("bits", [2, 4])
@pytest.mark.parametrize("bleed_mm", [0.01, -0.3])
def test_grey_outlines_move_by_less_than_a_drop(bed, bits, bleed_mm):
    body = trimesh.creation.cylinder(radius=5, height=4, sections=512)
    stack = bed.stack([(body, bed.placed(15, 15, 2))], head={"bits": bits})
    sheet = layers.sheet(layers.press(styled(stack, Treatment(bleed_mm=bleed_mm), bits=bits)), 20)
    np.testing.assert_allclose(sheet.drops * PITCH**2, np.pi * (5 - bleed_mm) ** 2, rtol=7e-4)


@pytest.mark.slow
def test_grey_undersides_lie_higher_by_the_depth(bed):
    stack, _ = one(bed, jitter=False)
    plain = [layers.sheet(layers.press(styled(stack, bits=2)), k).drops for k in range(stack.count)]
    ready = layers.press(styled(stack, Treatment(depth_mm=3 * stack.layer_mm), bits=2))
    higher = [layers.sheet(ready, k).drops for k in range(stack.count)]
    first, last = np.flatnonzero(plain)[[0, -1]]
    assert np.flatnonzero(higher)[0] == first + 3
    assert np.flatnonzero(higher)[-1] == last
    assert all(one <= 1.005 * other for one, other in zip(higher, plain, strict=True))
    assert sum(higher) < 0.99 * sum(plain)


@pytest.mark.parametrize(
    ("style", "says"),
    [
        (Style(treatments=(Treatment(),) * 2), "2 treatments for 1 parts"),
        (Style(bits=3), "1, 2 or 4 bits, got 3"),
        (Style(treatments=(Treatment(core=0.0),)), "saturation of the core must lie above 0"),
    ],
)
def test_styles_that_cannot_be_drawn_are_refused(bed, style, says):
    with pytest.raises(StopError, match=says):
        layers.press(dataclasses.replace(one(bed)[0], style=style))


def test_a_mesh_broken_past_the_limit_is_refused(bed):
    body = bed.torus()
    faces = np.array(body.faces)[np.random.default_rng(1).random(len(body.faces)) > 0.2]
    broken = trimesh.Trimesh(body.vertices, faces, process=False)
    stack = bed.stack([(broken, bed.placed(15, 15, 3))])
    with pytest.raises(StopError, match=r"a gap of \d\.\d+ mm, at most 0\.5 mm is joined"):
        layers.sheet(layers.press(stack), 20)
    patient = styled(stack, patience=Patience(bridge_mm=50, open_share=1))
    assert layers.sheet(layers.press(patient), 20).bridges > 0
