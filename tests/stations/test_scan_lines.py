"""A scan of a drawn part: bores, planes, distances, form and place come out as they were put in."""

import math

import manifold3d
import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

import drawn_shop
from sagger.goods import balloon
from sagger.goods.reading import Instrument
from sagger.goods.shape import Shape
from sagger.stations import measure
from sagger.stations.measure import scan_lines

SOLID = manifold3d.Manifold
SCANNER = Instrument(name="scanner", kind="length", u=5e-6, u_shared=0.0, u_shared_relative=2e-4)
GROWN, BORE, TILT, NOISE = (
    1.003,
    0.05,
    0.002,
    0.005,
)  # factor; bores smaller, top tilted [rad], of a corner [mm]
MOVED = 0.06  # the first bore along x [mm]


@pytest.fixture(scope="module")
def part():
    return drawn_shop.block()


def scanned(seed=1, noise=NOISE):
    """The block grown by a factor, its bores smaller, the first off its place; any way round."""
    body = SOLID.cube((40, 30, 12))
    for y, aside in ((20, MOVED), (8, 0.0)):
        body -= SOLID.cylinder(20, 4 - BORE / 2, 4 - BORE / 2, 180).translate((10 + aside, y, -4))
    body += SOLID.cylinder(5, 5, 5, 180).translate((30, 22, 11))
    made = body.refine_to_length(0.6).to_mesh()
    vertices, triangles = np.asarray(made.vert_properties[:, :3], float), np.asarray(made.tri_verts, np.int32)
    rng = np.random.default_rng(seed)
    vertices = vertices * GROWN + rng.normal(0, noise, vertices.shape)
    turn = Rotation.random(rng=seed).as_matrix()
    return Shape(vertices=vertices @ turn.T + (5.0, -70.0, 31.0), triangles=triangles)


@pytest.fixture(scope="module")
def read(part):
    scan = scanned()
    laid = measure.lay(scan, part.shape, SCANNER)
    lines = scan_lines.lines_in_scan(scan, laid, part, np.eye(3), SCANNER)
    return {str(line.number): line for line in lines}


def test_every_feature_is_read(read):
    assert set(read) == set(drawn_shop.NUMBERS) - {"1"} and not any(line.why for line in read.values())


TRUE = {
    "1.1": (8 - BORE) * GROWN, "1.2": (8 - BORE) * GROWN, "2": 10 * GROWN, "3": 40 * GROWN, "4": 30 * GROWN,
    "5": 12 * GROWN, "6": 4 * GROWN, "7": 90.0,
}  # fmt: skip


@pytest.mark.parametrize("number", TRUE)
def test_sizes_come_out_as_they_were_put_in(read, number):
    line = read[number]
    mean = sum(line.values) / len(line.values)
    assert abs(mean - TRUE[number]) < max(4 * line.u, 1.5e-3)
    assert line.u < (0.03 if number == "7" else 0.006)
    assert len(line.values) == (2 if number in ("1.1", "1.2", "2") else 1)  # least and greatest local size


def test_place_and_form_come_out_as_they_were_put_in(read):
    """The bore lies off by what it was moved and by the factor from datums A (bottom) and B (left)."""
    aside = MOVED * GROWN + (GROWN - 1) * 10  # along x from B; along y nothing holds it
    assert read["9"].values[0] == pytest.approx(2 * aside, abs=0.012)
    assert 0 < read["8"].values[0] < 6 * NOISE
    np.testing.assert_allclose(read["3"].lever, 40, rtol=1e-6)


def test_a_top_that_is_bent_is_not_flat(part):
    scan = scanned()
    laid = measure.lay(scan, part.shape, SCANNER)
    put = scan.vertices @ laid.turn.T + laid.shift_mm
    top = (put[:, 2] > 11.8) & (put[:, 2] < 12.3)
    bent = scan.vertices + np.outer(top * 2e-4 * (put[:, 0] - 20) ** 2, laid.turn[2])
    bowed = Shape(vertices=bent, triangles=scan.triangles)
    lines = scan_lines.lines_in_scan(bowed, laid, part, np.eye(3), SCANNER)
    line = next(one for one in lines if str(one.number) == "8")
    assert line.values[0] == pytest.approx(2e-4 * 20**2, abs=0.02)


def test_an_oval_bore_tells_its_least_and_greatest_size(part):
    scan = scanned(noise=0.0)
    laid = measure.lay(scan, part.shape, SCANNER)
    put = scan.vertices @ laid.turn.T + laid.shift_mm
    radius = np.hypot(put[:, 0] - 10, put[:, 1] - 8)
    wall = radius < 5
    angle = np.arctan2(put[:, 1] - 8, put[:, 0] - 10)
    push = (wall * 0.04 * np.cos(2 * angle))[:, None] * np.column_stack(
        [np.cos(angle), np.sin(angle), 0 * angle]
    )
    oval = Shape(vertices=scan.vertices + push @ laid.turn, triangles=scan.triangles)
    lines = {str(one.number): one for one in scan_lines.lines_in_scan(oval, laid, part, np.eye(3), SCANNER)}
    least, greatest = lines["1.2"].values
    assert greatest - least == pytest.approx(0.16, abs=0.02)
    assert (least + greatest) / 2 == pytest.approx(TRUE["1.2"], abs=0.01)


def test_what_was_not_scanned_is_told(part):
    scan = scanned()
    laid = measure.lay(scan, part.shape, SCANNER)
    put = scan.vertices @ laid.turn.T + laid.shift_mm
    middle = put[scan.triangles].mean(axis=1)
    gone = np.hypot(middle[:, 0] - 10, middle[:, 1] - 8) < 4.6
    cut = Shape(vertices=scan.vertices, triangles=scan.triangles[~gone])
    lines = {str(one.number): one for one in scan_lines.lines_in_scan(cut, laid, part, np.eye(3), SCANNER)}
    assert lines["1.2"].why == "too little of a face of it was scanned" and lines["1.2"].values == ()
    assert lines["1.1"].values and math.isfinite(lines["1.1"].u)
    assert [line.number for line in lines.values()] == balloon.balloons(part.asked)


def test_a_step_beside_a_face_does_not_move_it():
    """A face 0.01 mm too high, ending at x = 1; beyond it another, which looks the same way, 0.1 mm lower."""
    rng = np.random.default_rng(2)
    x, y = rng.uniform(-5, 5, 20_000), rng.uniform(-5, 5, 20_000)
    low = np.where(x > 1, -0.1, 0.0)
    feet, up = np.column_stack([x, y, low]), np.tile([0.0, 0.0, 1.0], (20_000, 1))
    read = feet + np.array([0.0, 0.0, 0.01])
    cloud = scan_lines.Cloud(read, up, feet, up, cKDTree(read))
    asked = np.array([[0.9, 0.0, 0.0], [-3.0, 1.0, 0.0]])
    moves = scan_lines._of_flat(asked, up[:2], cloud, 0.001)
    np.testing.assert_allclose(moves.out, [0.01, 0.01], rtol=0, atol=1e-6)
