"""What stands around the pictures of a job, and what of their addresses is of use."""

import pytest

from page_text import links, words
from sagger.web.rows import pictures as rows


def test_each_picture_leads_to_the_others_of_the_same_box_and_back():
    assert links(rows.links(7, "bed", 2)) == {
        "Back to the route": "/job/7", "layers": "/job/7/layers?box=2", "parts": "/job/7/part",
    }  # fmt: skip
    assert links(rows.links(7, "part", 1)) == {
        "Back to the route": "/job/7", "the box": "/job/7/bed", "layers": "/job/7/layers",
    }  # fmt: skip


def test_other_boxes_are_one_step_away_and_the_one_that_is_shown_is_not():
    content = rows.boxes(7, "bed", 2, 3)
    assert links(content) == {"box 1": "/job/7/bed?box=1", "box 3": "/job/7/bed?box=3"}
    assert words(content) == "box 1 box 2 box 3"
    assert words(rows.boxes(7, "bed", 1, 1)) == ""


@pytest.mark.parametrize(
    ("box", "count", "why"),
    [
        (1, 2, ""),
        (2, 2, ""),
        (3, 2, "This job has 2 boxes, there is no box 3."),
        (0, 1, "This job has 1 boxes"),
    ],
)
def test_a_box_that_is_not_there_is_said_to_be_missing(box, count, why):
    assert rows.missing_box(box, count).startswith(why)
    assert bool(rows.missing_box(box, count)) == bool(why)
    assert rows.missing_box(1, 0) == rows.NOT_YET


def test_names_of_parts_are_quoted_in_addresses():
    assert links(rows.parts(7, ["clamp body/2"])) == {"clamp body/2": "/job/7/part/clamp%20body/2"}


def test_layers_begin_in_the_middle_or_at_the_one_that_was_asked_for():
    assert [rows.first_layer(asked, 100) for asked in (0, 30, 1000, -5)] == [50, 30, 100, 1]
    assert rows.first_layer(0, 1) == 1


def test_a_place_that_makes_no_sense_is_left_out():
    assert rows.place("20,28.3,60") == [20.0, 28.3, 60.0]
    assert [rows.place(at) for at in ("", "20,30", "20,30,0", "a,b,c")] == [[]] * 4
