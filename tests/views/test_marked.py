"""Numbers of a drawing on pictures of its part: each once, where it belongs, none on another."""

import dataclasses
import io
import itertools
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
from PIL import Image

from sagger.files import order_stated
from sagger.goods import balloon
from sagger.goods.balloon import Balloon
from sagger.goods.order import Choices
from sagger.goods.stated import StatedDatum, StatedLine
from sagger.stations import intake
from sagger.views.pictures import anchors, marked
from sagger.views.words import drawn

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
SOLID = manifold3d.Manifold
BORES = [(8 + 8 * n, 8) for n in range(5)]


def block(*lines, datums=()):
    """A block 48 x 30 x 12 mm with five bores of 4 mm, and a closed room inside."""
    body = SOLID.cube((48, 30, 12))
    for x, y in BORES:
        body -= SOLID.cylinder(20, 2, 2, 48).translate((x, y, -4))
    request = dataclasses.replace(shapes.request(), dimensions=lines, datums=datums)
    return intake.check(request, shapes.file(shapes.of(body)), shapes.cell(), Choices())


def line(what, of, limit, to=(), **more):
    ends = tuple(order_stated.face_or_name(end) for end in to)
    face = order_stated.face_or_name(of)
    return StatedLine(
        name=more.pop("name", ""), what=what, of=face, to=ends, limit=order_stated.limit(limit, what), **more
    )


@pytest.fixture(scope="module")
def part():
    bores = [line("diameter", f"bore 4 mm at {x}, {y}, 6 along z", "±0.1 mm") for x, y in BORES]
    datum = StatedDatum(name="A", face=order_stated.face_or_name("plane at 5, 25, 0 facing -z"))
    top, place = "plane at 5, 25, 12 facing z", "bore 4 mm at 8, 8, 6 along z"
    return block(
        *bores,
        line("thickness", top, "±0.1 mm", to=["plane at 5, 25, 0 facing -z"]),
        line("flatness", top, "0.1 mm"),
        line("position", place, "0.3 mm", to=["A"], zone="round"),
        datums=(datum,),
    )


@pytest.fixture(scope="module")
def shown(part):
    return marked.marked(part)


def marks(shown):
    return [mark for shot in shown.pictures for mark in shot.marks]


def test_every_number_of_the_table_stands_once(part, shown):
    assert sorted(int(mark.number) for mark in marks(shown)) == [
        row.number for row in drawn.lines(part.drawing)
    ]
    assert len(marks(shown)) == 8 and not shown.known.whole and not shown.known.unknown


def test_lines_of_one_face_share_a_place(shown):
    at = {mark.number: mark.at for mark in marks(shown)}
    assert at["1"] == at["8"] != at["2"]  # position of the bore whose diameter is line 1
    assert len({at[str(n)] for n in range(1, 6)}) == 5


def test_no_circle_stands_on_another_and_all_lie_in_the_picture(shown):
    for shot in shown.pictures:
        wide, high = Image.open(io.BytesIO(shot.png)).size
        for one in shot.marks:
            left, top, right, bottom = one.box
            assert 0 <= left < right <= wide and 0 <= top < bottom <= high
        for one, other in itertools.combinations(shot.marks, 2):
            apart = (
                one.box[2] <= other.box[0] or other.box[2] <= one.box[0]
                or one.box[3] <= other.box[1] or other.box[3] <= one.box[1]
            )  # fmt: skip
            assert apart, (one, other)


def test_a_line_ends_on_the_part_and_not_on_a_circle(shown):
    for shot in shown.pictures:
        pixels = np.asarray(Image.open(io.BytesIO(shot.png)).convert("RGB"))
        for one in shot.marks:
            x, y = (round(each) for each in one.at)
            assert (pixels[y, x] == marked._LINE).all()  # its dot
            around = pixels[y - 12 : y + 13, x - 12 : x + 13].reshape(-1, 3)
            assert (around == 255).all(axis=1).mean() < 0.5


def test_a_hidden_face_is_told_by_a_ring_and_still_has_its_number(part):
    away = anchors.Anchor(["9"], np.array([[24.0, 20.0, 6.0]]), np.array([[0.0, 0.0, 1.0]]))  # inside
    (side,) = anchors.sides(part, [away], 20)
    assert side.seen[0].hidden and 0 < side.seen[0].at[0] < 1


def test_more_than_a_picture_holds_go_on_in_the_next(part):
    known = anchors.anchors(part).marked
    views = anchors.sides(part, known, 2)
    assert all(len(side.seen) <= 2 for side in views)
    assert sorted(n for side in views for one in side.seen for n in one.numbers) == sorted("12345678")


@pytest.mark.parametrize(
    ("text", "read"),
    [("7", Balloon(7)), ("7.2", Balloon(7, 2)), ("A7.2", Balloon(7, 2)), ("AB 12", Balloon(12))]
    + [(text, None) for text in ("", "0", "7.", "7.0", "bore", "7,2", "7.2.1")],
)
def test_numbers_are_read_as_they_are_written(text, read):
    assert balloon.read(text) == read
    assert read is None or balloon.read(str(read)) == read


def test_features_are_counted_within_their_line(part):
    one, other = part.asked[0], part.asked[1]
    twice = [one, dataclasses.replace(other, line=1), dataclasses.replace(other, line=2)]
    assert [str(each) for each in balloon.balloons(twice)] == ["1.1", "1.2", "2"]
    assert [str(each) for each in balloon.every(4, 2)] == ["4.1", "4.2"] and balloon.every(4, 1) == [
        Balloon(4)
    ]


def test_circles_that_want_one_place_make_room_within_the_picture():
    for wanted in ([3.0] * 16, [997.0] * 16, [500.0, 501.0, 502.0], [10.0, 990.0]):
        tops = marked._heights(np.array(wanted), 1000.0)
        assert (np.diff(tops) >= marked.ROUND + marked.APART - 1e-9).all()
        assert tops[0] >= 0 and tops[-1] + marked.ROUND <= 1000.0
    near = marked._heights(np.array([100.0, 500.0, 900.0]), 1000.0)
    np.testing.assert_allclose(near + marked.ROUND / 2, [100, 500, 900])  # where there is room, none is moved
