"""The example order in the box of 25 litres: its cure is planned in seconds, and says which piece is last."""

import dataclasses
import time

import pytest

from sagger import cards, line
from sagger.desk.planning.orders import BareOrder, read
from sagger.goods.learned import Approved
from sagger.stations import cure, layers

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def planned(example):
    """The job in that box, in coarse layers, and processor seconds that the cure took."""
    asked, took = read(example("metal"), BareOrder()), []

    def make(verb, *inputs):
        begun = time.process_time()
        done = verb(*inputs)
        if verb is cure.plan:
            took.append(time.process_time() - begun)
        return done

    cell = dataclasses.replace(asked.cell, box=cards.load("box", "box-400x250x250"))
    choices = dataclasses.replace(asked.order.choices, layer_um=400.0)
    order = dataclasses.replace(asked.order, choices=choices)
    return line.run(order, asked.files, cell, Approved(), make, layers.count), took


def test_cure_of_the_large_box_takes_less_than_a_minute(planned):
    _, took = planned
    assert took and max(took) < 60


def test_last_and_hottest_piece_are_pieces_of_the_box(planned):
    job, _ = planned
    for build in job.builds:
        pieces = {(piece.part, piece.number) for piece in build.layout.pieces}
        for spot in (build.cured.last, build.cured.hottest):
            assert (spot.part, spot.number) in pieces
            assert all(0 < at < side for at, side in zip(spot.at_mm, (400, 250, 250), strict=True))
        assert build.cured.hold >= build.cured.time_to_cure > 3600
        assert build.cured.hold_u < 0.3 * build.cured.hold
