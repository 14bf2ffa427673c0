"""Accounts: what each role may do, and which steps would lock everybody out."""

import pytest

from page_text import facts, table, words
from sagger.desk import people as desk
from sagger.desk.people import User
from sagger.errors import InputError
from sagger.web.rows import people as rows

ANN = User("Ann", "approve", "2027-01-02T03:04:05")


def test_roles_are_those_of_the_desk_in_their_order():
    assert tuple(rows.ROLES) == desk.ROLES
    assert desk.ROLES[-1] == rows.HIGHEST


def test_every_account_is_told_with_its_role():
    content = rows.accounts([ANN])
    assert table(content)[1:] == [["Ann", "approve", "2027-01-02 03:04"]]
    assert facts(content)["look"] == "sees everything"
    assert "No accounts" in words(rows.accounts([]))


def test_the_first_account_may_approve_so_that_it_can_open_others():
    assert (rows.usual_role([]), rows.usual_role([ANN])) == ("approve", "look")
    rows.check_first([], "approve")
    rows.check_first([ANN], "look")
    with pytest.raises(InputError, match="nobody could approve"):
        rows.check_first([], "plan")


def test_nobody_closes_their_own_account():
    rows.check_not_own("Ben", "Ann")
    with pytest.raises(InputError, match="your own account"):
        rows.check_not_own("Ann", "Ann")
