"""Roughness that a drawing asks for: what stairs alone come to, by hand."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest

from sagger.errors import InputError
from sagger.files import order_stated
from sagger.stations.intake.fit import oversize

drawn = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("test_promise_drawn.py"))))
SLOPE = "plane at 20, 26.99, 37.89 facing 0, -1, 1.7320508"


def why(limit, face=SLOPE, **more):
    wedge = manifold3d.Manifold.cube((40, 30, 12)).rotate((30, 0, 0)).translate((0, 20, 20))
    (zone,) = drawn.checked(wedge, drawn.line("roughness", face, limit), **more).drawing.tolerances
    assert not zone.evaluated and zone.kind == "roughness"
    return zone.why


@pytest.mark.slow
def test_stairs_of_layers_and_rows_of_drops_on_a_slope():
    """30 degrees: depths a = h cos 30 and b = p sin 30; Ra a / 4 + b^2 / 12 a, Rq in squares, Rz the sum."""
    powder, head = drawn.CELL.powder, drawn.CELL.head
    a = powder.layer.value * 1e6 * np.cos(np.radians(30)) / oversize(powder)
    b = 1e6 / head.resolution_y.value * np.sin(np.radians(30)) / oversize(powder)
    a, b = max(a, b), min(a, b)
    ra, rq, rz = a / 4 + b**2 / (12 * a), np.hypot(a, b) / np.sqrt(12), a + b
    for name, value in (("Ra", ra), ("Rq", rq), ("Rz", rz)):
        assert f"alone leave {name} {value:.1f} µm as filed; the powder" in why(f"{name} 900 um")
        assert "as filed, more than asked" in why(f"{name} 1 um")


@pytest.mark.slow
def test_a_face_that_lies_flat_has_no_stairs_and_a_better_side_is_told():
    assert "Ra 0.0 µm as filed; the powder" in why("Ra 6.3 um", "plane at 0, 29.99, 32.7 facing -x")
    turned = why("Ra 1 um", orientations="free")
    assert "in the best orientation" in turned


@pytest.mark.parametrize("text", ["6.3 um", "Ra", "Rt 3 um", "Ra 0 um", "Ra 6.3"])
def test_what_is_no_roughness_is_refused(text):
    with pytest.raises(InputError):
        order_stated.limit(text, "roughness")
