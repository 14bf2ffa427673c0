"""The page of a cell that is planned: who may what, and what it says to whom."""

import pytest

from cell_shop import STEP, planned
from sagger.desk import home, people
from sagger.desk.planning import cell, cell_runs
from sagger.ledger import entries
from visitor import PASSWORD, visit

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", autouse=True)
def staff(shop):
    planned()
    for name, role in (("Ann", "approve"), ("Paul", "plan"), ("Lou", "look")):
        people.add(name, role, PASSWORD)


def test_whoever_may_only_look_changes_nothing_of_the_cell():
    async def walk(visitor):
        from nicegui.testing.user_interaction import UserInteraction

        visitor.sign_in("Lou")
        await visitor.open("/cell")
        await visitor.sees("start gear blanks/1")  # what is shown last
        before = entries.check(home.ledger()).seal
        asked = [(element, each) for element, each, may in visitor.heard() if may in ("plan", "approve")]
        for element, each in asked:
            UserInteraction(visitor.user, {element}, None).trigger(each.type, "x")
            await visitor.sees("your account may look")
        assert len(asked) >= 16  # with a button for each build that is free
        assert [may for _, _, may in visitor.heard()].count("approve") == 1  # a promise, and nothing else
        assert entries.check(home.ledger()).seal == before
        assert cell_runs.newest() is None

    visit(walk, accounts=lambda: True)


def test_whoever_plans_fixes_a_build_and_gives_no_promise():
    async def walk(visitor):
        visitor.sign_in("Paul")
        await visitor.open("/cell")
        await visitor.sees("start gear blanks/1")  # what is shown last
        visitor.press("Fix")
        await visitor.sees("fixed until freed")
        assert len(cell.book().fixed()) == 1
        visitor.fill({"promised by": "2030-01-30T12:00"})
        visitor.press("Promise it")
        await visitor.sees("your account may plan, this asks for approve")
        assert cell.book().promises == ()
        visitor.press("Free")
        for _ in range(500):
            if cell.book().fixed() == ():
                break
            await visitor.wait()
        assert cell.book().fixed() == ()

    visit(walk, accounts=lambda: True)


def test_whoever_approves_promises_a_date():
    async def walk(visitor):
        visitor.sign_in("Ann")
        await visitor.open("/cell")
        await visitor.sees("start gear blanks/1")  # what is shown last
        visitor.fill({"promised by": "2030-01-30T12:00"})
        visitor.press("Promise it")
        await visitor.sees("2030-01-30 12:00, promised")
        assert cell.book().promises[0].order == "pump levers"

    visit(walk, accounts=lambda: True)


def test_a_fix_of_what_was_planned_anew_meanwhile_is_refused():
    async def walk(visitor):
        visitor.sign_in("Paul")
        await visitor.open("/cell")
        await visitor.sees("start gear blanks/1")  # what is shown last
        cell.plan("2030-01-07T08:00", cell.FIRST, STEP)
        visitor.press("Fix")
        await visitor.sees("another plan was accepted meanwhile")
        assert cell.book().fixed() == ()

    visit(walk, accounts=lambda: True)
