"""What is said and drawn of judgement, proposals and beds."""

import xml.etree.ElementTree as xml

import numpy as np
import pytest

from sagger import cards
from sagger.goods.learned import BedMap
from sagger.goods.order import Tolerance
from sagger.goods.reading import Reading
from sagger.stations import measure
from sagger.views.charts import plot
from sagger.views.words import judged as judged_view
from sagger.views.words import learned as view

BOX = cards.load("box", "box-400x250x250", ())


def judged(count=30, shift=0.0):
    random = np.random.default_rng(1)
    values = random.normal(0, 0.02, count) + shift * (np.arange(count) > count / 2)
    readings = tuple(
        Reading(
            kind="length", state="sintered", value=(20 + off) * 1e-3, nominal=0.02, u=1e-6, box="B1",
            piece=f"p{n}", part="lever & pin", axis="x", number=n + 1,
        )
        for n, off in enumerate(values)
    )  # fmt: skip
    return measure.judge(readings, Tolerance(kind="mm", value=0.1))


def test_few_pieces_get_a_bound_in_words_and_many_an_index():
    few, many = "\n".join(judged_view.lines(judged(10))), "\n".join(judged_view.lines(judged(30)))
    assert "too few for a bare figure" in few and "with 95 % confidence" in few
    assert "too few" not in many and "capability 1." in many


def test_an_alarm_is_said_with_its_false_alarm_rate():
    assert "alarms for nothing every 217 points" in "\n".join(judged_view.lines(judged(30, 0.08)))


def test_the_document_holds_every_verdict():
    document = judged_view.document(judged(12))
    assert len(document["compared"]) == 12
    assert document["characteristics"][0]["index"] is None


def test_the_picture_of_a_bed_shows_its_places_and_its_slope():
    at = np.array([(x, y, 20.0) for x in (20.0, 200.0, 380.0) for y in (20.0, 230.0)])
    bed = BedMap(
        box="box", material="steel", places_mm=at, density=0.55 + 1e-5 * at[:, 0], noise=1e-4, axes=(0, 1),
        amplitude=0.0, reach_mm=np.ones(3), reference=0.552,
    )  # fmt: skip
    cells = view.grid(BOX, 20.0)
    picture = xml.fromstring(view.bed_picture(bed, BOX, measure.bed_map.over(bed, cells).mean, cells))
    dots = [each for each in picture.iter() if each.tag.endswith("circle")]
    assert len(dots) == 6
    even = measure.bed_map.uniformity(bed, BOX)
    np.testing.assert_allclose(even.slopes, [1e-5 * 400 / even.mean, 0, 0], rtol=1e-6, atol=1e-9)
    assert "from wall to wall: x 0.72" in "\n".join(view.bed_lines(bed, even))


@pytest.mark.parametrize(
    ("ends", "found"),
    [((0.0, 10.0), [0, 2, 4, 6, 8, 10]), ((-0.11, 0.11), [-0.1, -0.05, 0.0, 0.05, 0.1])],
)
def test_ticks_are_round(ends, found):
    np.testing.assert_allclose(plot.ticks(*ends, 6), found, rtol=0, atol=1e-12)


def test_a_flat_series_still_has_an_axis():
    low, high = plot.around([2.0, 2.0])
    assert low < 2.0 < high
