"""Entries are sealed one on the other: what is changed or taken away afterwards is found."""

import pytest
import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.ledger import entries, tables


@pytest.fixture(autouse=True)
def three_entries(book):
    for number in range(3):
        _entered(book, {"posting": [{"place": "lot", "name": "L", "mg": number}]})


def _entered(book, rows, what="receive", person="A. Person", **more):
    with book.writing() as connection:
        return entries.add(connection, what, person, rows, **more)


def test_an_untouched_book_is_whole(book):
    sealed = entries.check(book)
    assert sealed.entries == 3
    _entered(book, {})
    assert entries.check(book).seal != sealed.seal


@pytest.mark.slow
@pytest.mark.parametrize(
    "change",
    [
        "UPDATE posting SET mg = 7 WHERE id = 2",
        "DELETE FROM posting WHERE id = 2",
        "UPDATE entry SET person = 'B. Person' WHERE id = 1",
        "DELETE FROM entry WHERE id = 1",
        "INSERT INTO posting (id, entry, place, name, mg) VALUES (4, 2, 'lot', 'L', 0)",
    ],
)
def test_what_was_changed_afterwards_is_found(book, change):
    with book.writing() as connection:
        if book.engine.dialect.name == "sqlite":
            connection.connection.driver_connection.execute("PRAGMA defer_foreign_keys = ON")
        else:
            connection.execute(sa.text("SET session_replication_role = replica"))
        if change.startswith("DELETE FROM entry"):
            connection.execute(sa.text("DELETE FROM posting WHERE entry = 1"))
        connection.execute(sa.text(change))
    with pytest.raises(LedgerError, match="was changed after"):
        entries.check(book)


def test_a_correction_names_one_entry_of_its_kind_once(book):
    _entered(book, {}, corrects=2)
    with pytest.raises(LedgerError, match="corrected by entry 4"):
        _entered(book, {}, corrects=2)
    with pytest.raises(LedgerError, match="that is a receive"):
        _entered(book, {}, what="scrap", corrects=1)
    with pytest.raises(LedgerError, match="none of that number"):
        _entered(book, {}, corrects=99)
    with book.reading() as connection:
        assert connection.execute(entries.superseded()).scalars().all() == [2]


def test_an_entry_needs_a_person_and_is_whole_or_not_there(book):
    with pytest.raises(InputError):
        _entered(book, {}, person=" ")
    with pytest.raises(sa.exc.DBAPIError):
        _entered(book, {"posting": [{"place": "lot", "name": None, "mg": 1}]})
    assert entries.check(book).entries == 3
    with book.reading() as connection:
        assert connection.execute(sa.select(sa.func.count()).select_from(tables.entry)).scalar() == 3
