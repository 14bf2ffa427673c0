"""What a page is told of the pieces of a box."""

import dataclasses
import json

import numpy as np

from sagger.goods.cured import CuredSpot
from sagger.goods.finding import Finding
from sagger.goods.learned import BedMap
from sagger.views.pictures import mesh
from sagger.views.pictures.palette import web
from sagger.views.words import pieces


def told(job, bed=None, cured=None):
    return pieces.document(job.builds[0].stack, bed, cured or job.builds[0].cured)


def way(document, name):
    return next((each for each in document["ways"] if each["name"] == name), None)


def a_map(box, slope):
    """Density that rises evenly along x from 0.50."""
    at = np.array([[x, y, 5.0] for x in (0.0, 50.0, 100.0, 150.0) for y in (0.0, 30.0, 60.0)])
    return BedMap(
        box=box, material="", places_mm=at, density=0.5 + slope * at[:, 0], noise=1e-6, axes=(0, 1),
        amplitude=0.0, reach_mm=np.ones(3), reference=0.5,
    )  # fmt: skip


def test_each_piece_lies_where_its_mesh_does(job):
    layout = job.builds[0].layout
    for said, piece in zip(told(job)["pieces"], layout.pieces, strict=True):
        at = layout.greens[piece.part].shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
        np.testing.assert_allclose(said["low_mm"], at.min(axis=0), atol=6e-4)
        np.testing.assert_allclose(said["high_mm"], at.max(axis=0), atol=6e-4)
        np.testing.assert_allclose(said["factors"], layout.greens[piece.part].factors.k, atol=6e-6)


def test_the_page_gets_json(job):
    assert json.loads(json.dumps(told(job)))["box"]["layers"] == job.builds[0].stack.count


def test_a_part_is_as_bad_as_its_worst_finding(job):
    build = job.builds[0]
    bad = (Finding(level="look", what="a", text=""), Finding(level="stop", what="b", text=""))
    green = build.layout.greens[0]
    worse = dataclasses.replace(green, part=dataclasses.replace(green.part, findings=bad))
    layout = dataclasses.replace(build.layout, greens=(worse, *build.layout.greens[1:]))
    said = pieces.document(dataclasses.replace(build.stack, layout=layout), None, None)["pieces"]
    assert {one["level"] for one in said if one["part"] == 0} == {"stop"}


def test_without_a_map_nothing_is_said_of_density(job):
    names = [each["name"] for each in told(job)["ways"]]
    assert "green density" not in names and "predicted deviation" not in names


def test_density_and_size_follow_the_map(job):
    document = told(job, a_map(job.cell.box.name, 1e-4))
    layout = job.builds[0].layout
    for said in document["pieces"]:
        middle = (said["low_mm"][0] + said["high_mm"][0]) / 2
        density = 0.5 + 1e-4 * middle
        np.testing.assert_allclose(said["density_percent"], 100 * density, rtol=1e-6)
        # Mass is kept: what is denser when green shrinks less, by the cube root.
        longest = np.ptp(layout.greens[said["part"]].shape.vertices, axis=0).max()
        np.testing.assert_allclose(
            said["deviation_um"], ((density / 0.5) ** (1 / 3) - 1) * longest * 1e3, rtol=1e-3
        )
    assert way(document, "predicted deviation")["unit"] == "µm"


def test_each_piece_is_coloured_by_how_far_it_is_cured(job):
    degrees = np.linspace(0.95, 0.99, len(job.builds[0].layout.pieces))
    document = told(job, cured=dataclasses.replace(job.builds[0].cured, degrees=degrees))
    np.testing.assert_allclose(way(document, "degree of cure")["values"], 100 * degrees, rtol=1e-12)
    np.testing.assert_allclose([one["cure_percent"] for one in document["pieces"]], 100 * degrees, rtol=1e-12)
    assert way(told(job), "degree of cure") is None  # of an older edition, which kept none


def test_the_pieces_cured_last_and_most_are_marked(job):
    first, *_, last = job.builds[0].layout.pieces
    spots = [CuredSpot(part=one.part, number=one.number, at_mm=(0, 0, 0)) for one in (first, last)]
    cured = dataclasses.replace(job.builds[0].cured, last=spots[0], hottest=spots[1])
    tones = way(told(job, cured=cured), "cured last and most")["tones"]
    assert (tones[0], tones[-1]) == (web(1), web(4))
    assert set(tones[1:-1]) <= {"#b9bcc2"}


def test_stance_says_what_points_up():
    k = np.array([1.1, 1.2, 1.3])
    lying = np.eye(4)
    lying[:3, :3] = np.diag(k) @ [[1, 0, 0], [0, 0, -1], [0, 1, 0]]  # y of the part points up
    assert pieces.stance(lying, k) == "+y of the part points up, its +x along +x of the box"
    c, s = np.cos(np.radians(10)), np.sin(np.radians(10))
    lying[:3, :3] = np.diag(k) @ [[c, -s, 0], [s, c, 0], [0, 0, 1]]
    assert pieces.stance(lying, k) == "+z of the part points up, its +x along +x (off by 10.0°) of the box"


def test_a_mesh_and_places_come_as_plain_numbers(job):
    layout = job.builds[0].layout
    shape = layout.greens[0].shape
    data = mesh.mesh(shape)
    counts = np.frombuffer(data, "<u4", 2)
    assert counts.tolist() == [len(shape.vertices), len(shape.triangles)]
    corners = np.frombuffer(data, "<f4", 3 * counts[0], 8).reshape(-1, 3)
    np.testing.assert_allclose(corners, shape.vertices, rtol=1e-6, atol=1e-5)
    np.testing.assert_array_equal(
        np.frombuffer(data, "<u4", offset=8 + 12 * counts[0]), shape.triangles.ravel()
    )
    places = np.frombuffer(mesh.places(layout), "<f4").reshape(-1, 4, 4)
    np.testing.assert_allclose(places[-1].T, layout.pieces[-1].placement, rtol=1e-6)
