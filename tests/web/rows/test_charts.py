"""The page of control charts: what can be chosen, what is marked, and every reading."""

import pytest

from page_text import facts, links, table, words
from sagger.errors import InputError
from sagger.goods.order import Tolerance
from sagger.goods.reading import Reading
from sagger.stations import measure
from sagger.views.words import judged
from sagger.web.rows import charts as rows

NAMED = dict.fromkeys(rows.KEYS, "")
LEVER = NAMED | {"part": "lever", "axis": "x", "feature": "bore", "nominal": "20"}


def readings(values_mm, boxes=("B1",)):
    return tuple(
        Reading(
            kind="length", state="sintered", value=value * 1e-3, nominal=0.02, u=5e-6,
            box=boxes[n * len(boxes) // len(values_mm)], piece=f"p{n}", part="lever", axis="x",
            feature="bore", number=100 + n,
        )
        for n, value in enumerate(values_mm)
    )  # fmt: skip


QUIET = readings([20.01, 19.99, 20.02, 19.98])
FAR = readings([20, 20.002, 19.999, 20.001, 20, 20.09, 20, 19.999, 20.001, 20], ("B1", "B2"))
JUDGED = measure.judge(FAR, Tolerance(kind="mm", value=0.05))
CHARTS = measure.control(FAR)
(ABLE,) = JUDGED.characteristics


def test_an_address_names_a_size_and_a_size_its_address():
    size = rows.size_of(LEVER)
    assert (size.part, size.axis, size.feature, size.nominal_mm) == ("lever", "x", "bore", 20.0)
    assert (size.kind, size.state) == ("length", "sintered")
    assert rows.address(size) == "part=lever&axis=x&feature=bore&nominal=20"
    green = rows.size_of(NAMED | {"part": "cup", "kind": "density", "state": "green"})
    assert rows.address(green) == "part=cup&kind=density&state=green"
    assert rows.size_of(NAMED) is None


def test_a_nominal_size_that_is_no_number_is_refused_by_its_field():
    with pytest.raises(InputError) as refused:
        rows.size_of(LEVER | {"nominal": "twenty"})
    assert refused.value.field == "nominal"


def test_what_was_measured_can_be_chosen_and_what_is_chosen_too():
    size, other = rows.size_of(LEVER), rows.size_of(LEVER | {"axis": "z"})
    options = rows.options([(size, 12)], other)
    assert list(options.values()) == [
        "lever, bore, along x, 20 mm (12 readings)",
        "lever, bore, along z, 20 mm (no readings)",
    ]
    assert rows.options([(size, 12)], size) == {rows.address(size): next(iter(options.values()))}


def test_each_size_leads_to_its_charts_and_says_when_it_was_read_too_seldom():
    size = rows.size_of(LEVER)
    content = rows.measured([(size, 2), (size, 3)], " 0.2 mm ", "")
    assert [row[1:] for row in table(content)[1:]] == [["2", "a chart needs 3 at least"], ["3", ""]]
    assert links(content)["lever, bore, along x, 20 mm"].endswith("&nominal=20&tolerance=0.2+mm")
    green = rows.size_of(NAMED | {"part": "cup", "kind": "density", "state": "green"})
    assert "tolerance" not in str(rows.measured([(green, 9)], "0.2 mm", "B1"))
    assert "box=B1" in str(rows.measured([(green, 9)], "0.2 mm", "B1"))


def test_readings_are_numbered_as_in_the_charts_and_the_far_one_is_marked():
    content = rows.readings(FAR, CHARTS, JUDGED)
    head, *body = table(content, "Readings of this size")
    assert [row[0] for row in body] == [str(number) for number in range(1, len(FAR) + 1)]
    marked = {row[0]: row[4] for row in body if row[4]}
    assert "beyond a limit" in marked["6"]
    assert not {"1", "2", "3", "4", "5"} & set(marked)
    sixth = dict(zip(head, body[5], strict=True))
    assert (sixth["Box"], sixth["Piece"], sixth["Read"]) == ("B2", "p5", "20.0900 ± 0.0050 mm")
    assert (sixth["off nominal, mm"], sixth["Against the tolerance"]) == ("+0.0900", "does not conform")


def test_without_a_tolerance_no_verdict_stands_beside_a_reading():
    assert table(rows.readings(QUIET, measure.control(QUIET), None))[0][-1] == "Marked for"


def test_of_many_readings_the_newest_are_shown_under_their_own_numbers():
    many = readings([20 + 0.001 * (n % 3) for n in range(rows.SHOWN + 2)])
    content = rows.readings(many, None, None)
    numbers = [row[0] for row in table(content)[1:]]
    assert (numbers[0], numbers[-1], len(numbers)) == ("3", str(rows.SHOWN + 2), rows.SHOWN)
    assert "The 2 before them are not shown." in words(content)


def test_charts_say_in_words_whether_the_size_is_under_control():
    assert "Under control? look" in words(rows.under_control(CHARTS))
    assert "reading 6, B2 p5" in words(rows.under_control(CHARTS))
    quiet = words(rows.under_control(measure.control(QUIET)))
    assert "Under control? quiet" in quiet and "fewer than 20" in quiet and "resemble" not in quiet
    assert "resemble" in words(rows.under_control(CHARTS))


def test_the_picture_says_how_many_readings_it_marks():
    assert "none is marked" in str(rows.picture(rows.size_of(LEVER), measure.control(QUIET), None))
    assert f"{len(rows.marked_for(CHARTS))} readings of 10 marked" in str(
        rows.picture(rows.size_of(LEVER), CHARTS, 0.05)
    )


def test_verdicts_are_counted_and_capability_is_told():
    content = rows.against_tolerance(ABLE, JUDGED.compared)
    assert words(content).startswith("Against the tolerance ± 0.05 mm")
    counts = dict(rows.verdict_counts(JUDGED.compared))
    assert counts == {"conforms": 9, "undecided": 0, "does not conform": 1}
    assert facts(content)["does not conform"] == "1"
    assert "state stop" in str(content)


def test_every_line_of_the_charts_is_told_with_its_source():
    content = rows.limits(CHARTS, ABLE)
    assert all(row[3] for row in table(content, "Lines of the charts")[1:])
    assert len(table(content, "Capability")) == 1 + len(judged.able(ABLE))
    assert "Capability" not in words(rows.limits(CHARTS, None))
