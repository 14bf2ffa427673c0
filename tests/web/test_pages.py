"""Pages as a person uses them, by the page toolkit's simulated user: no browser, no socket."""

import asyncio
import time

import pytest

from sagger.desk import people
from sagger.desk.cards import own_cards
from sagger.desk.measuring import approvals
from sagger.desk.powder import lots
from sagger.web.rows.cards import LABELS
from visitor import EMPTY, PASSWORD, visit

pytestmark = pytest.mark.usefixtures("shop")
SIEVE_TABLE = "sieve table: opening and mass that stayed, a line each, pan 0"


@pytest.mark.slow
def test_every_page_opens_in_an_empty_shop_and_says_what_is_not_there():
    async def walk(visitor):
        for path, words in EMPTY.items():
            await visitor.open(path)
            await visitor.sees(words)

    visit(walk)


@pytest.mark.slow
def test_factors_that_are_typed_are_approved_once_however_often_one_clicks():
    async def walk(visitor):
        await visitor.open("/factors")
        visitor.press("Approve these factors")
        await visitor.sees("a number is needed")
        sizes = {f"factor along {axis}": f"1.2{n}" for n, axis in enumerate("xyz")}
        doubts = {f"its standard uncertainty along {axis}": f"0.00{n + 1}" for n, axis in enumerate("xyz")}
        visitor.fill(sizes | doubts | {"approved by": "Ann", "from which readings": "12 coupons"})
        visitor.press("Approve these factors", times=2)
        await visitor.sees("1.2100 ± 0.0020")

    visit(walk)
    assert [(row.k, row.u) for row in approvals.newest_first()] == [
        ((1.2, 1.21, 1.22), (0.001, 0.002, 0.003))
    ]


@pytest.mark.slow
def test_a_lot_is_typed_in_with_its_sieve_table():
    async def walk(visitor):
        await visitor.open("/readings")
        visitor.fill({"name of the lot": "L1", "mass weighed": "40 kg", "entered by": "Ann"})
        visitor.fill({SIEVE_TABLE: "45 um 1 kg\n20 um 38 kg\n0 um 1 kg"})
        visitor.press("Book the lot in")
        await visitor.sees("L1 steel-316l received 40.000")
        await visitor.open("/lots/L1")
        await visitor.sees("40.000 kg of 40.000 kg")

    visit(walk)
    assert [lot.name for lot in lots.shelf()[0].lots] == ["L1"]


@pytest.mark.slow
def test_a_line_of_a_card_is_changed_on_the_shop_s_own_copy():
    async def walk(visitor):
        await visitor.open("/cards/powder/steel-316l?line=packing")
        visitor.fill({LABELS["value"]: "5 kg"})
        visitor.press("Keep on the shop's own card")
        await visitor.sees("is a unit of mass")
        visitor.fill({LABELS["value"]: "0.57 -"})
        visitor.press("Keep on the shop's own card")
        await visitor.sees("The shop's own copy.")

    visit(walk)
    assert own_cards.own("powder", "steel-316l")


@pytest.mark.slow
def test_accounts_are_opened_and_closed_but_not_one_s_own():
    async def walk(visitor):
        await visitor.open("/people")
        visitor.fill({"name": "Ann", "may": "plan", "password": PASSWORD})
        visitor.press("Open it")
        await visitor.sees("nobody could approve")
        people.add("Ann", "approve", PASSWORD)
        people.add("Ben", "look", PASSWORD)
        visitor.sign_in("Ann")
        await visitor.open("/people")
        visitor.press("Close it")
        await visitor.sees("your own account is closed by somebody else")
        visitor.fill({"account": "Ben"})
        visitor.press("Close it")
        until = time.monotonic() + 10
        while len(people.listed()) > 1 and time.monotonic() < until:
            await asyncio.sleep(0.02)
        assert [user.name for user in people.listed()] == ["Ann"]

    visit(walk, accounts=lambda: bool(people.listed()))
