"""Jobs that wait, versions, people: what the bench keeps."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from sagger import ledger
from sagger.errors import LedgerError
from sagger.ledger import jobs, people, tables, versions

HERE = Path(__file__).parent


@pytest.mark.slow
def test_the_migrations_make_the_tables_that_the_code_reads(book):
    with book.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables.metadata) == []


def test_a_ledger_without_the_bench_is_brought_up_and_keeps_its_jobs(tmp_path):
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as old:
        old.executescript((HERE / "ledger-0001.sql").read_text())
    (row,) = jobs.listed(ledger.open_at(tmp_path))
    assert (row.name, row.version, row.stop) == ("metal", None, False)


def test_a_job_that_waits_is_taken_once(book, tmp_path):
    version = versions.add(book, "n", tmp_path, "me")
    job = jobs.ask(book, "n", "folder", version, "me")
    assert jobs.take(book, job)
    assert not jobs.take(book, job)
    assert jobs.begin(book, jobs.Beginning("n", "digest", "folder", "0", "start"), job=job) == job
    assert jobs.one(book, job).process == os.getpid()


def test_enough_is_heard_only_while_something_is_being_made_better(book):
    job = jobs.begin(book, jobs.Beginning("n", "digest", "folder", "0", ""))
    assert not jobs.enough(book, job)
    jobs.tell(book, job, improving=True)
    assert jobs.enough(book, job)
    assert jobs.one(book, job).enough


def test_a_job_that_waits_is_called_off_at_once(book, tmp_path):
    job = jobs.ask(book, "n", "folder", versions.add(book, "n", tmp_path, "me"), "me")
    jobs.stop(book, job)
    assert jobs.one(book, job).state == "cancelled"
    assert not jobs.take(book, job)


@pytest.mark.parametrize(("asked", "state"), [(False, "interrupted"), (True, "cancelled")])
def test_a_job_whose_process_vanished_is_closed(book, asked, state):
    job = jobs.begin(book, jobs.Beginning("n", "digest", "folder", "0", ""))
    with book.writing() as connection:
        connection.execute(sa.update(tables.job).values(process_began="long ago", stop=asked))
    assert jobs.settle(book) == [job]
    assert jobs.one(book, job).state == state
    assert jobs.settle(book) == []


@pytest.mark.slow
def test_versions_of_an_order_are_counted_in_their_thread(book, tmp_path):
    first = versions.add(book, "n", tmp_path, "me")
    other = versions.add(book, "else", tmp_path, "me")
    second = versions.add(book, "n", tmp_path, "me", first, ("layer: 50 um → 60 um",))
    third = versions.add(book, "n", tmp_path, "me", first)
    assert [(each.id, each.number) for each in versions.of_thread(book, first)] == [
        (third, 3),
        (second, 2),
        (first, 1),
    ]
    assert versions.one(book, second).changes == ("layer: 50 um → 60 um",)
    assert versions.threads(book) == {first: first, other: other, second: first, third: first}
    with pytest.raises(LedgerError, match="no version 9"):
        versions.one(book, 9)


@pytest.mark.slow
def test_a_session_ends_with_its_time_its_account_or_its_word(book):
    people.put(book, "ann", "plan", "secret")
    ann = people.named(book, "ann").id
    people.log_in(book, ann, "over", hours=-1)
    people.log_in(book, ann, "left", hours=1)
    people.log_in(book, ann, "good", hours=1)
    people.log_out(book, "left")
    assert [bool(people.of_session(book, word)) for word in ("over", "left", "good", "none")] == [
        False,
        False,
        True,
        False,
    ]
    people.put(book, "ann", "", "")
    assert people.of_session(book, "good") is None
    assert people.listed(book) == []
