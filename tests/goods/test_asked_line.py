"""What a plan says of the lines of a drawing, as readings are held against it."""

import dataclasses
import json

import pytest

import drawn_shop
from sagger.desk.home import ledger
from sagger.goods.asked_line import asked_lines
from sagger.ledger import jobs, plans


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(tmp_path_factory.mktemp("home")))
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        job = drawn_shop.planned(drawn_shop.block())
        yield plans.plan(ledger(), jobs.one(ledger(), job).plan_digest)


def test_every_line_has_its_number_limits_and_features(plan):
    lines = asked_lines(plan, plan.parts[0])
    assert [str(number) for line in lines for number in line.numbers] == drawn_shop.NUMBERS
    bore, seat = lines[0], lines[1]
    assert (bore.features, bore.unit, bore.lower, bore.upper) == (2, "mm", 7.9, 8.1)
    assert (seat.what, seat.nominal, seat.zone) == ("diameter seat", 10.0, False)
    flat, place = lines[7], lines[8]
    assert (flat.kind, flat.nominal, flat.upper, flat.zone, flat.eased) == (
        "flatness",
        None,
        0.1,
        True,
        False,
    )
    assert place.eased  # maximum material
    assert lines[6].unit == "deg"


def test_a_plan_of_an_earlier_edition_has_no_lines(plan):
    part = dataclasses.replace(plan.parts[0], drawing=None)
    assert asked_lines(plan, part) == ()
    assert json.dumps([line.number for line in asked_lines(plan, plan.parts[0])]) == str([*range(1, 10)])
