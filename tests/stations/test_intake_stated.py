"""Dimensions said by hand, for meshes too: faces looked up by size and place, limits, refusals."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
from scipy.optimize import least_squares

from sagger.errors import InputError, OrderError
from sagger.files import order_stated
from sagger.geometry.surface import lookup, mesh
from sagger.goods.order import Choices
from sagger.goods.stated import StatedDatum, StatedLine
from sagger.stations import intake

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
CELL = shapes.cell()
SOLID = manifold3d.Manifold


def housing():
    """A block 40 x 30 x 12 with bores 8.000 at (12, 20) and 6.100 at (30, 10), and a pin 10 on top."""
    block = SOLID.cube((40, 30, 12))
    for diameter, x, y in ((8.0, 12, 20), (6.1, 30, 10)):
        block -= SOLID.cylinder(20, diameter / 2, diameter / 2, 64).translate((x, y, -4))
    return shapes.of(block + SOLID.cylinder(5, 5, 5, 96).translate((30, 22, 11)))


def line(what, of, limit, to=(), **more):
    ends = tuple(order_stated.face_or_name(end) for end in to)
    return StatedLine(
        name=more.pop("name", ""), what=what, of=order_stated.face_or_name(of), to=ends,
        limit=more.pop("steps", None) or order_stated.limit(limit, what), **more,
    )  # fmt: skip


def drawing(*lines, datums=()):
    request = dataclasses.replace(shapes.request(), dimensions=lines, datums=datums)
    return intake.check(request, shapes.file(housing()), CELL, Choices()).drawing


BORE = "bore 8 mm at 12.2, 19.9, 5 along z"


@pytest.mark.slow
def test_a_bore_stated_by_size_and_place_is_found_and_carries_its_limits():
    (size,) = drawing(line("diameter", BORE, "+0.2 mm 0 mm", name="main")).dimensions
    assert (size.name, size.nominal, size.lower, size.upper) == ("main", 8.0, 8.0, 8.2)
    (face,) = drawing(line("diameter", BORE, "+0.2 mm 0 mm")).faces
    np.testing.assert_allclose(face.radius_mm, 4, atol=1e-6)
    np.testing.assert_allclose(face.at_mm[:2], (12, 20), atol=1e-6)
    assert not face.outward


@pytest.mark.slow
def test_distances_angles_and_places_are_said_between_faces_and_names():
    made = drawing(
        line("diameter", BORE, "±0.1 mm", name="main"),
        line("distance", "main", "±0.1 mm", to=["bore 6.1 mm at 30, 10, 5 along z"]),
        line(
            "thickness", "plane at 5, 5, 12 facing z", "11.9 mm to 12.1 mm", to=["plane at 5, 5, 0 facing -z"]
        ),
        line("angle", "plane at 0, 5, 5 facing -x", "±0.5 deg", to=["plane at 5, 5, 0 facing -z"]),
        line("position", "main", "0.3 mm", to=["A"], zone="round"),
        datums=(StatedDatum(name="A", face=order_stated.face("plane at 5, 5, 0 facing -z")),),
    )
    nominal = [(size.kind, size.nominal) for size in made.dimensions]
    assert nominal == [("diameter", 8.0), ("distance", 20.5913), ("thickness", 12.0), ("angle", 90.0)]
    (place,) = made.tolerances
    assert (place.kind, place.width_mm, place.zone, place.datums) == ("position", 0.3, "round", ("A",))
    assert place.faces == made.dimensions[0].faces and made.datums[0].faces == made.dimensions[2].to


@pytest.mark.parametrize(
    ("of", "what"),
    [
        ("bore 8 mm at 20, 20, 5 along z", "no such face"),
        ("pin 8 mm at 12, 20, 5 along z", "no such face"),
        ("bore 7 mm at 12, 20, 5 along z", "no such face"),
        ("plane at 5, 5, 10 facing z", "no such face"),
        ("the other bore", "nothing has this name"),
    ],
)
def test_a_face_that_is_not_there_is_refused_with_the_nearest(of, what):
    with pytest.raises(OrderError, match=what) as refused:
        drawing(
            line(
                "diameter" if "plane" not in of else "flatness", of, "0.2 mm" if "plane" in of else "±0.1 mm"
            )
        )
    assert refused.value.field == "[[part.dimension]] 1, of"
    if of.startswith("bore 7"):
        assert "bore 8 mm at 12, 20, 6" in refused.value.remedy


def test_a_face_that_two_fit_is_refused():
    """A step from 8.0 to 8.3 within the bore, and a line that could mean either."""
    two = shapes.of(
        SOLID.cube((20, 20, 10))
        - SOLID.cylinder(6, 4, 4, 96).translate((10, 10, -1))
        - SOLID.cylinder(6, 4.15, 4.15, 96).translate((10, 10, 5))
    )
    asked = dataclasses.replace(
        shapes.request(), dimensions=(line("diameter", "bore 8.15 mm at 10, 10, 5 along z", "±0.1 mm"),)
    )
    with pytest.raises(OrderError, match="more than one face fits"):
        intake.check(asked, shapes.file(two), CELL, Choices())


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("±0.1 mm", (-0.1, 0.1)),
        ("+0.2 mm 0 mm", (0, 0.2)),
        ("0 mm -50 um", (-0.05, 0)),
        ("-0.1 mm +0.3 mm", (-0.1, 0.3)),
    ],
)
def test_deviations_are_read_in_any_order_and_unit(text, ends):
    limit = order_stated.limit(text, "diameter")
    np.testing.assert_allclose((limit.lower, limit.upper), ends, atol=1e-12)


@pytest.mark.parametrize("text", ["", "0.2", "8 mm to 8 mm", "Hh6", "±0 mm", "H", "0.1 mm"])
def test_what_is_no_limit_is_refused(text):
    with pytest.raises(InputError):
        order_stated.limit(text, "diameter")


def test_the_fit_agrees_with_a_general_least_squares_library():
    """Orthogonal distance regression of scipy on noisy points of a tilted cylinder."""
    rng = np.random.default_rng(3)
    angle, height = rng.uniform(0, 2 * np.pi, 400), rng.uniform(0, 15, 400)
    points = np.stack([4 * np.cos(angle), 4 * np.sin(angle), height], axis=1) + rng.normal(0, 0.02, (400, 3))
    tilt = np.array([[1, 0, 0.05], [0, 1, -0.02], [-0.05, 0.02, 1]])
    points = points @ np.linalg.qr(tilt)[0].T + (1, 2, 3)
    _, along, radius = lookup.cylinder(points, np.array([1.0, 2.0, 3.0]), np.array([0.0, 0.0, -1.0]), 4.2)

    def off(p):
        way = np.array([p[2], p[3], 1.0]) / np.linalg.norm([p[2], p[3], 1.0])
        q = points - (p[0], p[1], 3.0)
        return np.linalg.norm(q - np.outer(q @ way, way), axis=1) - p[4]

    best = least_squares(off, (1, 2, 0, 0, 4), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    np.testing.assert_allclose(radius, best.x[4], rtol=0, atol=1e-7)
    np.testing.assert_allclose(along[:2] / along[2], best.x[2:4], rtol=0, atol=1e-7)


def test_halves_of_a_bore_are_taken_together():
    body = mesh.welded(housing())
    (found,) = lookup.rounds(body, "bore", 8.0, np.array([12.0, 20.0, 5.0]), np.array([0.0, 0.0, 1.0]))
    assert found.turn == 1.0 and len(found.triangles) == 128


@pytest.mark.slow
def test_each_line_says_which_errors_alone_would_use_it_up():
    """By hand: 0.1 mm of 8 mm is 1.25 %; bore and wall move by two edges; 0.15 mm in sqrt(544) mm."""
    base = ("plane at 5, 5, 0 facing -z", "plane at 0, 5, 5 facing -x", "plane at 5, 0, 5 facing -y")
    made = drawing(
        line("diameter", BORE, "±0.1 mm", name="main"),
        line("thickness", "plane at 5, 5, 12 facing z", "±0.1 mm", to=[base[0]]),
        line("position", "main", "0.3 mm", to=["A", "B", "C"], zone="round"),
        line("flatness", base[0], "0.2 mm"),
        datums=tuple(
            StatedDatum(name=n, face=order_stated.face(f)) for n, f in zip("ABC", base, strict=True)
        ),
    )
    size, wall = made.dimensions
    place, flat = made.tolerances
    np.testing.assert_allclose([size.length_needed, size.edge_needed_mm], [0.0125, 0.05], rtol=1e-6)
    np.testing.assert_allclose([wall.length_needed, wall.edge_needed_mm], [0.1 / 12, 0.05], rtol=1e-6)
    np.testing.assert_allclose(place.length_needed, 0.15 / np.sqrt(12**2 + 20**2), rtol=1e-6)
    np.testing.assert_allclose(place.edge_needed_mm, 0.15 / np.sqrt(2), rtol=1e-6)
    assert (flat.length_needed, flat.edge_needed_mm) == (None, None)
