"""Coupons from the order file to the drop images: the label stands in the layers at the coupon's place."""

from __future__ import annotations

import numpy as np
import pytest
import tifffile

from sagger.geometry.surface import dots
from sagger.geometry.surface.coupon import DEEP, KINDS, PITCH

pytestmark = pytest.mark.slow

ORDER = """
[order]
name = "coupons"
[cards]
powder = "steel-316l"
head = "head-400"
box = "box-160x65x65"
[[coupon]]
kind = "cube"
places = [[0.0, 0.0], [1.0, 1.0], [0.5, 0.5]]
series = 6
"""


@pytest.fixture(scope="module")
def planned(one_shop):
    order = one_shop.folder / "coupons.toml"
    order.write_text(ORDER)
    return one_shop.plan(order)


def dots_in_the_image(image, placement, pitch_mm):
    """Dots of a cube's label, sampled from one drop image at the middle of each dot's place."""
    first = np.array(KINDS["cube"].label) - np.array([PITCH, 1.5 * PITCH])
    found = np.zeros((4, 4), dtype=bool)
    for row in range(4):
        for column in range(4):
            nominal = np.array([*(first + PITCH * np.array([row, column])), 0.0, 1.0])
            x, y = (placement @ nominal)[:2] / pitch_mm
            near = image[round(y) - 3 : round(y) + 4, round(x) - 3 : round(x) + 4]
            found[row, column] = near.mean() < 0.5
    return found


def test_every_label_can_be_read_in_the_drop_images(planned):
    plan, into = planned
    layers = plan["boxes"][0]["layers"]
    assert len(plan["pieces"]) == 3
    for piece in plan["pieces"]:
        placement = np.array(piece["placement"])
        top = (placement @ [0, 0, KINDS["cube"].z[0] - DEEP / 2, 1])[2]
        number = round(top / layers["thickness_um"] * 1e3)
        image = tifffile.imread(into / "layers" / f"{number:05d}.tif") != 0
        pitch = np.array(layers["pitch_um"]) / 1e3
        label = dots.read(dots_in_the_image(image, placement, pitch))
        assert piece["name"] == f"cube {label[0]}-{label[1]:02d}"


def test_the_plan_says_where_each_coupon_is_held(planned):
    plan, _ = planned
    assert [part["held"] for part in plan["parts"]] == [[[0, 0, 0]], [[1, 1, 0]], [[0.5, 0.5, 0]]]
    assert plan["quote"]["promises"] == []
