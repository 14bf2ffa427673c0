"""What a work gave and what a version of an order is may be used before a job is sealed: both are checked."""

import contextlib

import pytest
import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.ledger import archive, jobs, open_at, proof, tables, versions, works

WORK = works.Work("k" * 32, "sagger.stations.nest.pack", "3", ["a" * 32])


@pytest.fixture
def kept(book):
    """A work of a job that was killed, and a version of an order."""
    works.record(book, WORK, 1.5, 0.1)
    versions.add(book, "first", book.folder / "orders" / "1", "Ann")
    return book


def change(book, table, **values):
    with book.writing() as connection:
        connection.execute(sa.update(table).values(**values))


@pytest.mark.parametrize("column", ["output", "edition", "verb"])
def test_a_work_that_was_changed_is_not_used(kept, column):
    assert works.find(kept, WORK.key)
    proof.prove(kept)
    if column == "output":  # another result of the same kind, which the ledger does hold
        works.record(kept, WORK._replace(key="o" * 32), 2.5, 0.1)
        change(kept, tables.work, output=works.find(kept, "o" * 32))
    else:
        change(kept, tables.work, **{column: "4"})
    for look in (lambda: works.find(kept, WORK.key), lambda: proof.prove(kept)):
        with pytest.raises(
            LedgerError, match=r"work k+ was changed after it was written; nothing is planned"
        ):
            look()


def test_when_a_work_was_done_is_of_no_weight(kept):
    change(kept, tables.work, seconds=7.0)
    assert works.find(kept, WORK.key)


def test_a_version_that_was_changed_is_not_read(kept):
    change(kept, tables.version, person="Bea")
    for look in (lambda: versions.one(kept, 1), lambda: proof.prove(kept)):
        with pytest.raises(LedgerError, match="version 1 was changed after it was written"):
            look()


def test_a_version_that_a_job_was_made_from_is_missed(kept):
    jobs.ask(kept, "first", "f", 1, "Ann")
    proof.prove(kept)
    with kept.writing() as connection:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        connection.execute(sa.delete(tables.version))
    with pytest.raises(LedgerError, match="the order that job 1 was made from was taken out"):
        proof.prove(kept)


def test_a_version_holds_in_another_home(kept, tmp_path):
    archive.write(kept, tmp_path / "copy.zip")
    other = open_at(tmp_path / "other")
    archive.read(tmp_path / "copy.zip", other)
    assert versions.one(other, 1).folder == str(tmp_path / "other" / "orders" / "1")
    proof.prove(other)


def past_the_program(book, table):
    """All rows of a table deleted by somebody whom no foreign key holds up."""
    with contextlib.closing(book.engine.raw_connection()) as connection:
        cursor = connection.cursor()
        postgres = book.engine.dialect.name == "postgresql"
        cursor.execute("SET session_replication_role = replica" if postgres else "PRAGMA foreign_keys = OFF")
        cursor.execute(f'DELETE FROM "{table.name}"')
        connection.commit()
        cursor.execute("SET session_replication_role = DEFAULT" if postgres else "PRAGMA foreign_keys = ON")


@pytest.mark.parametrize(
    ("table", "words"), [(tables.body, "what the table 'work' names"), (tables.job, "job 1, which ended")]
)
def test_a_result_or_a_job_that_was_taken_out_is_missed(kept, table, words):
    number = jobs.begin(kept, jobs.Beginning("one", "", "f", "0", ""))
    jobs.end(kept, number, "done")
    proof.prove(kept)
    past_the_program(kept, table)
    with pytest.raises(LedgerError, match=words):
        proof.prove(kept)
