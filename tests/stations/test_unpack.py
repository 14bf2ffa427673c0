"""What unpacking meets in parts whose bores and fins are known, on the cards that ship."""

import dataclasses
import re
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest

from sagger.goods.order import Choices
from sagger.stations import intake
from sagger.stations.intake.trapped import channel

pytestmark = pytest.mark.slow

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
CELL = shapes.cell()
SOLID = manifold3d.Manifold


def checked(shape):
    return intake.check(shapes.request(), shapes.file(shape), CELL, Choices())


def found(part, what):
    """The one finding of this name."""
    (finding,) = [each for each in part.findings if each.what == what]
    return finding


def test_a_long_dead_end_is_a_look_with_its_length_and_mass():
    bore = SOLID.cylinder(36, 1.4, 1.4, 48).translate((0, 0, -16))
    finding = found(checked(shapes.of(SOLID.cube((40, 40, 40), True) - bore)), "way out")
    assert finding.level == "look" and finding.value > finding.limit
    assert "dead end" in finding.text and " g of loose powder" in finding.text
    assert np.linalg.norm(finding.at_mm[:2]) < 1.0


def test_a_short_through_bore_empties():
    bore = SOLID.cylinder(60, 2, 2, 48, True)
    part = checked(shapes.of(SOLID.cube((40, 40, 40), True) - bore))
    assert found(part, "way out").level == "ok"
    assert part.unpacking.openings == 2 and part.unpacking.pockets_mm3 > 0


def test_a_stronger_loose_powder_needs_a_wider_channel_and_a_free_one_five_grains():
    powder = CELL.powder
    twice = dataclasses.replace(powder.loose_strength, value=2 * powder.loose_strength.value)
    sticky = dataclasses.replace(powder, loose_strength=twice)
    np.testing.assert_allclose(channel(sticky).width_mm, 2 * channel(powder).width_mm, rtol=1e-9)
    loose = dataclasses.replace(powder.loose_strength, value=1e-3)
    free = dataclasses.replace(powder, loose_strength=loose)
    np.testing.assert_allclose(channel(free).width_mm, 5 * powder.d90.value * 1e3, rtol=1e-9)
    silent = dataclasses.replace(powder, loose_strength=None)
    np.testing.assert_allclose(channel(silent).width_mm, powder.escape_channel.value * 1e3, rtol=1e-9)


@pytest.mark.parametrize(
    "height, level, word", [(2, None, ""), (10, "look", "No brush"), (60, "look", "no jet")]
)
def test_a_fin_of_1_mm_against_brush_and_jet(height, level, word):
    fin = SOLID.cube((1, 30, height), True).translate((0, 0, 20 + height / 2 - 0.01))
    part = checked(shapes.of(SOLID.cube((40, 40, 40), True) + fin))
    findings = [each for each in part.findings if each.what == "handling"]
    assert [each.level for each in findings] == ([level] if level else [])
    assert all(word in each.remedy for each in findings)
    assert (part.unpacking.brush_margin < 3) == bool(level)


def test_a_fin_as_thick_as_the_remedy_says_bears_the_brush():
    def looked(thick):
        fin = SOLID.cube((thick, 30, 10), True).translate((0, 0, 24.99))
        return checked(shapes.of(SOLID.cube((40, 40, 40), True) + fin))

    thick = float(re.search(r"at ([\d.]+) mm it bears the brush", found(looked(1.0), "handling").remedy)[1])
    assert found(looked(thick - 0.15), "handling").level == "look"
    assert looked(thick + 0.15).unpacking.brush_margin > 3
