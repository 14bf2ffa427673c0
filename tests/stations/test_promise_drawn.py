"""Lines of a drawing in the promise, stated by hand on a block, each against its law alone."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
from scipy.stats import norm

import furnace_goods as hand
from sagger.files import order_stated
from sagger.goods.learned import Approved
from sagger.goods.order import Choices, Tolerance
from sagger.goods.stated import StatedDatum, StatedLine
from sagger.stations import intake, promise

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
CELL = shapes.cell()
BORE, PIN = "bore 8 mm at 12, 20, 5 along z", "pin 10 mm at 30, 22, 14 along z"
LEFT, RIGHT = "plane at 0, 5, 5 facing -x", "plane at 40, 5, 5 facing x"
BOTTOM, TOP, FRONT = "plane at 5, 5, 0 facing -z", "plane at 5, 5, 12 facing z", "plane at 5, 0, 5 facing -y"
DATUMS = tuple(
    StatedDatum(name=name, face=order_stated.face(face))
    for name, face in zip("ABC", (BOTTOM, LEFT, FRONT), strict=True)
)
STILL = {"scatter": 0.0}


def line(what, of, limit, to=(), **more):
    ends = tuple(order_stated.face_or_name(end) for end in to)
    return StatedLine(
        name="", what=what, of=order_stated.face_or_name(of), to=ends,
        limit=order_stated.limit(limit, what), **more,
    )  # fmt: skip


def part(*lines, **more):
    block = manifold3d.Manifold.cube((40, 30, 12))
    block -= manifold3d.Manifold.cylinder(20, 4, 4, 96).translate((12, 20, -4))
    body = block + manifold3d.Manifold.cylinder(5, 5, 5, 96).translate((30, 22, 11))
    return checked(body, *lines, datums=DATUMS, **more)


def checked(body, *lines, **more):
    request = dataclasses.replace(
        shapes.request(), quantity=10, dimensions=lines, tolerance=Tolerance(kind="mm", value=5.0), **more
    )
    return intake.check(request, shapes.file(shapes.of(body)), CELL, Choices())


def promised(looked_at, u=(0.0, 0.0, 0.0), **powder):
    given = hand.factors(u=u, origin="ledger 7")
    greens = (hand.green(dataclasses.replace(looked_at, findings=()), given),)
    cell = hand.cell(
        powder=hand.powder(hand.sintering(**STILL), **powder), furnace=hand.furnace(uniformity=0.0)
    )
    fired = hand.fire(greens, cell.powder, cell.furnace)
    return promise.state(hand.order(greens), greens, (hand.build(greens),), fired, cell, Approved())


@pytest.mark.slow
def test_c9_to_c12_a_distance_scatters_by_what_it_leaves_of_a_drop():
    """40 mm x 1.19 on drops of 63.5 um: p sqrt(f (1 - f)), not p / sqrt(6); a bore hardly feels them."""
    asked = part(line("thickness", LEFT, "±0.01 mm", to=[RIGHT]), line("diameter", BORE, "±0.1 mm"))
    thick, bore = promised(asked).lines
    left = 40 * 1.19 / 0.0635 % 1
    expected = 0.0635 * np.sqrt(left * (1 - left)) / 1.19
    np.testing.assert_allclose(thick.u, expected, rtol=5e-3)
    assert abs(thick.u - 0.0635 / np.sqrt(6) / 1.19) > 5e-4  # the rms over all sizes: a negative control
    area = 2 * np.sqrt(0.072837 * 0.0635**3 / (np.pi * 8 * 1.19)) / 1.19  # C14
    np.testing.assert_allclose(bore.u, area, rtol=1e-3)
    assert bore.chance == 1
    assert dict(thick.shares) == {"drop lattice": 1}


@pytest.mark.slow
def test_outside_and_bore_take_bleed_in_opposite_senses_and_a_step_does_not_feel_it():
    asked = part(
        line("diameter", BORE, "±0.05 mm"),
        line("diameter", PIN, "±0.05 mm"),
        line("distance", LEFT, "±0.05 mm", to=[BORE]),
        line("distance", PIN, "±0.05 mm", to=[BORE]),
    )
    found = promised(asked, bleed_doubt=hand.fig(0.02e-3))
    bore, pin, to_face, between = found.lines
    np.testing.assert_allclose([bore.u, pin.u], 2 * 0.02 / 1.19, rtol=1e-3)  # drops: 1.4 um
    lattice = dict(to_face.shares)["drop lattice"]
    np.testing.assert_allclose(to_face.u * np.sqrt(1 - lattice), 0.02 / 1.19, rtol=1e-3)
    assert between.u < 1e-9
    alone = 2 * norm.cdf(0.05 / (2 * 0.02 / 1.19)) - 1
    np.testing.assert_allclose([bore.chance, pin.chance], alone, atol=2e-3)
    both = promised(part(line("diameter", BORE, "±0.05 mm"), line("diameter", PIN, "±0.05 mm")),
                    bleed_doubt=hand.fig(0.02e-3))  # fmt: skip
    rng = np.random.default_rng(2)
    bled, drops = rng.normal(0, 2 * 0.02 / 1.19, 400_000), rng.normal(0, 1, (2, 400_000))
    off = (bled, -bled) + drops * np.array([[0.00133], [0.00119]])
    together = (np.abs(off) < 0.05).all(axis=0).mean()
    np.testing.assert_allclose(both.pieces[0].chance, together, atol=3e-3)  # C27
    assert together > alone - 0.01 > alone**2 + 0.1  # its square: a negative control


@pytest.mark.slow
def test_place_and_form_by_factors_alone():
    """Position 2 hypot(e_x 12, e_y 20); roundness R |e_x - e_y|; flatness none; machined not promised."""
    lines = (
        line("position", BORE, "0.1 mm", to=["A", "B", "C"], zone="round"),
        line("roundness", BORE, "0.02 mm"),
        line("flatness", TOP, "0.1 mm", machined_mm=1.0),
        line("flatness", BOTTOM, "0.001 mm"),
    )
    looked_at = part(*lines)
    assert [zone.evaluated for zone in looked_at.drawing.tolerances] == [True, True, False, True]
    assert looked_at.drawing.tolerances[2].why == "cut after sintering"
    place, roundness, flat = promised(looked_at, u=(1.19e-3, 2 * 1.19e-3, 0.0)).lines
    rng = np.random.default_rng(1)
    e = rng.normal(size=(200_000, 2)) * (1e-3, 2e-3)
    lattice = rng.uniform(-0.5, 0.5, (200_000, 2)) * 0.0635 / 1.19  # of the datum faces
    off = e * (12, 20) + lattice
    np.testing.assert_allclose(place.chance, (2 * np.hypot(*off.T) <= 0.1).mean(), atol=8e-3)
    np.testing.assert_allclose(roundness.chance, (4 * abs(e[:, 0] - e[:, 1]) <= 0.02).mean(), atol=8e-3)
    assert flat.chance == 1 and flat.line == 4


@pytest.mark.slow
def test_a_scaled_part_has_its_stated_sizes_scaled_and_its_limits_as_stated():
    checked = part(line("diameter", BORE, "±0.1 mm"), scale=0.5)
    (size,) = checked.drawing.dimensions
    assert (size.nominal, size.lower, size.upper) == pytest.approx((4.0, 3.9, 4.1))
    (feature,) = checked.asked
    np.testing.assert_allclose(feature.points[:, :2].mean(axis=0), (6, 10), atol=1e-6)


@pytest.mark.slow
def test_nominal_off_the_middle_is_put_right_by_an_offset_face_and_told():
    asked = part(line("diameter", BORE, "+0.1 mm 0 mm"), line("thickness", LEFT, "±1 mm", to=[RIGHT]))
    found = promised(asked, bleed_doubt=hand.fig(0.01e-3))
    np.testing.assert_allclose(found.lines[0].chance, 0.5, atol=0.01)
    gains = {gain.name: gain.chance for gain in found.pieces[0].raised}
    assert gains["draw faces offset to the middle of their limits"] > 0.99
    assert gains["machine line 1"] > 0.99
    expected = norm.ppf(0.99) * 2 * 0.01 / 1.19  # this shop names no least chip
    np.testing.assert_allclose(found.lines[0].stock_mm, expected, rtol=4e-3)  # drops: 1.4 um
    assert found.lines[1].stock_mm is None
    assert "drawing at risk" in {finding.what for finding in found.findings}
