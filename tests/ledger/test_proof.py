"""A ledger says what was damaged or edited, where and since when; a copy comes back as it was."""

import json
import random
import shutil
import sqlite3
import zipfile
from contextlib import closing, suppress

import numpy as np
import pytest
import sqlalchemy as sa

from sagger import ledger
from sagger.errors import LedgerError
from sagger.goods.factors import Factors
from sagger.goods.good import digest
from sagger.goods.lot import Lot
from sagger.goods.shape import Shape
from sagger.ledger import (
    approved,
    archive,
    bodies,
    entries,
    jobs,
    lots,
    people,
    proof,
    seals,
    tables,
    tidying,
    works,
)

ME = lots.Mover(person="A. Person")
RNG = np.random.default_rng(5)
PAGE = 4096
LIBRARY = ("Traceback", "sqlalchemy", "sqlite3", "psycopg", "pg8000", "Errno", "Exception", "(Background")


def factors(k=1.2):
    return Factors(k=np.full(3, k), u=np.full(3, 0.01), material="m", origin="card")


def shape(seed):
    rng = np.random.default_rng(seed)
    return Shape(
        vertices=rng.normal(size=(400, 3)), triangles=rng.integers(0, 400, (700, 3)).astype(np.int32)
    )


def planned(book, folder, seed, *, days_ago=0):
    """A job with a work of its own that gave a shape, and a plan."""
    number = jobs.begin(book, jobs.Beginning("n", f"order {seed}", folder, "0", ""))
    key = digest(("work", seed))
    works.record(book, works.Work(key, "verb", "1", []), shape(seed), 1.0)
    works.note_use(book, number, key, remembered=False)
    jobs.end(book, number, "done", plan_digest=bodies.put(book, json.dumps({"plan": seed})))
    if days_ago:
        with book.writing() as connection:
            old = sa.update(tables.job).where(tables.job.c.id == number)
            connection.execute(old.values(ended=f"20{26 - days_ago // 365:02d}-01-01T00:00:00+00:00"))
    return number


@pytest.fixture
def filled(book):
    """Lots, charges, factors, accounts and jobs."""
    lots.receive(book, Lot(name="L", powder="m", origin="received"), 100.0, ME)
    people.put(book, "Ann", "approve", "aa:bb")
    approved.approve(book, factors(), "A. Person", "nine coupons")
    lots.charge(book, "B", {"L": 12.0}, ME)
    planned(book, "one", 1)
    people.put(book, "Ben", "look", "cc:dd")
    lots.scrap(book, "L", 3.0, ME)
    planned(book, "two", 2)
    return book


def sentence(told):
    said = str(told.value)
    assert not [word for word in LIBRARY if word in said], said
    assert "\n" not in said
    return said


def test_a_whole_ledger_is_told_to_be_whole(filled):
    found = proof.prove(filled)
    assert (found.entries, found.accounts, found.jobs, found.older, found.idle) == (4, 2, 2, 0, 0)
    assert found.arrays == 4 and found.seal == entries.check(filled).seal


EDITS = {
    "a factor": ("UPDATE factors SET k_x = 1.5", "entry 2 .approval"),
    "a reason": ("UPDATE approval SET reason = 'none'", "entry 2 .approval"),
    "who": ("UPDATE entry SET person = 'X' WHERE id = 3", "entry 3 .charge.* until .* are sound"),
    "when": ("UPDATE entry SET at = '2020-01-01' WHERE id = 1", "entry 1 .receive"),
    "a mass": ("UPDATE posting SET mg = mg + 1 WHERE id = 2", "entry 1 .receive"),
    "an account": ("UPDATE person SET role = 'approve' WHERE id = 2", "account of 'Ben' was changed .*role"),
    "a secret": ("UPDATE person SET secret = 'ee:ff' WHERE name = 'Ann'", "account of 'Ann'.*secret"),
    "one more account": (
        "INSERT INTO person (id, name, role, secret, made) VALUES (9, 'Eve', 'approve', 'a:b', '2026')",
        "account of 'Eve' was written past the program",
    ),
    "one account less": ("DELETE FROM person WHERE name = 'Ben'", "account of 'Ben'.* was taken out"),
    "a job's state": ("UPDATE job SET state = 'stopped' WHERE id = 1", "job 1 .* was changed .*state"),
    "a job's plan": (
        "UPDATE job SET plan_digest = (SELECT plan_digest FROM job WHERE id = 2) WHERE id = 1",
        "job 1 .* was changed .*plan",
    ),
    "a work": (
        "UPDATE work SET output = (SELECT plan_digest FROM job WHERE id = 1)", "job 1 .* was changed .*works",
    ),
    "a seal": ("UPDATE seal SET facts = '{}' WHERE id = 2", "seal 2 .* was changed"),
    "the end of the book": (
        "DELETE FROM posting WHERE entry = 4; DELETE FROM entry WHERE id = 4", "entry 4 is gone",
    ),
    "a row left over": ("DELETE FROM entry WHERE id = 4", "entry 4.* gone"),
    "the name of a field": (
        """UPDATE body SET json = replace(json, '"powder"', '"powdes"') WHERE json LIKE '%"powder"%'""",
        "damaged, or changed",
    ),
    "a result": ("UPDATE body SET json = '7' WHERE json LIKE '%plan%'", "damaged, or changed"),
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("edit", EDITS)
def test_what_is_edited_is_told_with_its_place(filled, edit):
    statements, what = EDITS[edit]
    with filled.engine.connect() as connection:
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
        else:
            connection.exec_driver_sql("SET session_replication_role = replica")
        for statement in statements.split("; "):
            connection.exec_driver_sql(statement)
        if connection.dialect.name != "sqlite":
            connection.commit()
    with pytest.raises(LedgerError, match=what) as told:
        proof.prove(filled)
    assert "estore" in sentence(told)


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TRIGGER t AFTER INSERT ON entry BEGIN DELETE FROM seal; END",
        "ALTER TABLE person ADD COLUMN more INTEGER",
        "DROP INDEX {}",
        "CREATE TABLE more (id INTEGER)",
    ],
)
def test_tables_that_are_not_as_they_were_made_are_told(file, tmp_path, statement):
    """A trigger would change what others book; nothing of it stands in any row."""
    with closing(sqlite3.connect(file)) as opened:
        index = opened.execute("SELECT name FROM sqlite_master WHERE type = 'index' AND sql != ''").fetchone()
        opened.execute(statement.format(*(index or ("entry",))))
        opened.commit()
    book = ledger.open_at(tmp_path)
    with pytest.raises(LedgerError, match="is not what the program made") as told:
        proof.prove(book)
    assert "estore" in sentence(told)


def test_a_job_that_runs_needs_no_seal_yet(filled):
    jobs.begin(filled, jobs.Beginning("n", "order", "three", "0", ""))
    proof.prove(filled)


@pytest.mark.parametrize("place", [60, -9])
def test_a_bit_that_fell_over_in_an_array_is_told_when_it_is_read(filled, tmp_path, place):
    path = next(iter((tmp_path / "arrays").rglob("*.npy")))
    data = bytearray(path.read_bytes())
    data[place] ^= 4
    path.write_bytes(data)
    with pytest.raises(LedgerError, match="broken"):
        proof.prove(filled)
    with pytest.raises(LedgerError, match="broken") as told:
        for seed in (1, 2):
            bodies.get(filled, digest(shape(seed)))
    sentence(told)


def test_a_copy_comes_back_as_it_was(filled, tmp_path, where):
    (tmp_path / "cards" / "powders").mkdir(parents=True)
    (tmp_path / "cards" / "powders" / "own.toml").write_text("x = 1")
    made = archive.write(filled, tmp_path / "copy.zip")
    assert made.tables["entry"] == 4 and made.files == 5
    again = tmp_path / "again"
    own = tmp_path / "cards" / "powders" / "own.toml"
    own.write_text("x = 3")
    with pytest.raises(LedgerError, match="is not empty"):
        archive.read(tmp_path / "copy.zip", filled)
    assert own.read_text() == "x = 3"
    back = ledger.open_at(again)
    mine = again / "cards" / "powders" / "own.toml"
    mine.parent.mkdir(parents=True)
    mine.write_text("y = 2")
    with pytest.raises(LedgerError, match=r"own.toml is there already.*nothing was brought back") as told:
        archive.read(tmp_path / "copy.zip", back)
    assert "move the file aside" in sentence(told) and mine.read_text() == "y = 2"
    assert entries.check(back).entries == 0 and not list((again / "arrays").rglob("*.npy"))
    mine.write_text("x = 1")
    archive.read(tmp_path / "copy.zip", back)
    assert proof.prove(back).seal == proof.prove(filled).seal
    for table in tables.metadata.sorted_tables:
        with filled.reading() as one, back.reading() as other:
            assert [*archive.lines(one, table)] == [*archive.lines(other, table)], table.name
    assert (again / "cards" / "powders" / "own.toml").read_text() == "x = 1"
    lots.scrap(back, "L", 1.0, ME)  # and goes on
    assert entries.check(back).entries == 5
    back.engine.dispose()


def test_a_copy_goes_into_another_database_too(filled, tmp_path, request):
    archive.write(filled, tmp_path / "copy.zip")
    if filled.engine.dialect.name == "sqlite":
        pytest.skip("PostgreSQL's copy goes into SQLite above; this is the way back")
    seal = entries.check(filled).seal
    with filled.writing() as connection:
        names = ", ".join(f'"{table}"' for table in tables.metadata.tables)
        connection.exec_driver_sql(f"TRUNCATE {names} RESTART IDENTITY")
    archive.read(tmp_path / "copy.zip", filled)
    assert entries.check(filled).seal == seal
    people.put(filled, "Cid", "look", "aa:bb")  # its counters go on, too
    planned(filled, "three", 3)
    proof.prove(filled)


COPIES = {
    "cut": (lambda data: data[:-300], "cut or damaged|not what was copied"),
    "no copy": (lambda data: b"PK" + bytes(500), "cut or damaged"),
    "a byte": (lambda data: data[:200] + bytes([data[200] ^ 1]) + data[201:], "damaged"),
}


@pytest.mark.parametrize("case", COPIES)
def test_a_damaged_copy_is_refused_and_leaves_nothing(filled, tmp_path, case):
    change, what = COPIES[case]
    archive.write(filled, tmp_path / "copy.zip")
    (tmp_path / "bad.zip").write_bytes(change((tmp_path / "copy.zip").read_bytes()))
    back = ledger.open_at(tmp_path / "again")
    with pytest.raises(LedgerError, match=what) as told:
        archive.read(tmp_path / "bad.zip", back)
    sentence(told)
    assert entries.check(back).entries == 0
    back.engine.dispose()


def test_no_name_in_a_copy_leads_out_of_the_home(filled, tmp_path):
    archive.write(filled, tmp_path / "copy.zip")
    for name in ("../out.txt", "/tmp/out.txt", "arrays/../../out.txt", "elsewhere/out.txt", "arrays/.hidden"):
        with (
            zipfile.ZipFile(tmp_path / "copy.zip") as good,
            zipfile.ZipFile(tmp_path / "bad.zip", "w") as bad,
        ):
            head = json.loads(good.read(archive.MANIFEST))
            head["digests"][name] = "0" * 32
            for entry in good.namelist():
                bad.writestr(entry, json.dumps(head) if entry == archive.MANIFEST else good.read(entry))
            bad.writestr(name, "x")
        back = ledger.open_at(tmp_path / "again")
        with pytest.raises(LedgerError, match="belongs to no ledger"):
            archive.read(tmp_path / "bad.zip", back)
        back.engine.dispose()
    assert not list(tmp_path.rglob("out.txt"))


def test_what_nobody_needs_goes_and_the_rest_stays(filled, tmp_path):
    old = [planned(filled, f"f{seed}", seed, days_ago=800) for seed in (3, 4)]
    approved.approve_plan(filled, old[1], jobs.one(filled, old[1]).plan_digest, "A. Person", "")
    planned(filled, "f3", 5)  # a newer one into the same folder
    with filled.writing() as connection:  # the end was set back by hand above, not by the program
        for job in old:
            seals.add(connection, seals.JOB, job, seals.of_job(connection, job))
    before = proof.prove(filled)
    told = tidying.tidy(filled, 90, do=False)
    assert told.jobs == (old[0],) and told.arrays == 2 and told.bytes > 0
    assert proof.prove(filled).bodies == before.bodies
    assert tidying.tidy(filled, 90, do=True).arrays == 2
    after = proof.prove(filled)
    assert (after.entries, after.arrays, after.idle) == (before.entries, before.arrays - 2, 0)
    assert bodies.get(filled, digest(shape(4))).vertices.shape == (400, 3)
    with pytest.raises(LedgerError, match="holds nothing"):
        bodies.get(filled, digest(shape(3)))
    assert tidying.tidy(filled, 90, do=True).jobs == ()
    number = jobs.begin(filled, jobs.Beginning("n", "order", "six", "0", ""))
    with pytest.raises(LedgerError, match=f"job {number} is under way, and nothing was taken out"):
        tidying.tidy(filled, 0, do=True)
    assert tidying.tidy(filled, 90, do=False).jobs == ()


@pytest.fixture
def file(tmp_path):
    """A ledger in a file, closed."""
    book = ledger.open_at(tmp_path)
    lots.receive(book, Lot(name="L", powder="m", origin="received"), 100.0, ME)
    for number in range(12):
        planned(book, f"f{number}", number)
        lots.scrap(book, "L", 0.5, ME)
    people.put(book, "Ann", "approve", "aa:bb")
    with book.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    book.engine.dispose()
    return tmp_path / "ledger.sqlite"


def damaged(path, rng, kind):
    data = bytearray(path.read_bytes())
    page = rng.randrange(len(data) // PAGE) * PAGE
    if kind == "random":
        data[page : page + PAGE] = rng.randbytes(PAGE)
    elif kind == "zero":
        data[page : page + PAGE] = bytes(PAGE)
    else:
        data[page + rng.randrange(PAGE)] ^= 1 << rng.randrange(8)
    path.write_bytes(data)


def dump(path):
    with closing(sqlite3.connect(path)) as opened:
        return list(opened.iterdump())


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["random", "zero", "bit"])
def test_a_damaged_page_is_told_in_one_sentence_or_holds_nothing(file, tmp_path, kind):
    """A bit may fall over where a page holds nothing: then all that the ledger says is as it was."""
    whole, rng, untold = file.read_bytes(), random.Random(3), 0
    before = dump(file)
    for _ in range(5):
        for left in tmp_path.glob("ledger.sqlite-*"):
            left.unlink()
        file.write_bytes(whole)
        damaged(file, rng, kind)
        try:
            book = ledger.open_at(tmp_path)
            proof.prove(book)
            untold += 1
            assert kind == "bit" and dump(file) == before
        except LedgerError as error:
            said = str(error)
            assert not [word for word in LIBRARY if word in said] and "\n" not in said, said
    assert untold < 5


def test_a_ledger_of_no_bytes_is_told_and_not_begun_anew(file, tmp_path):
    file.write_bytes(b"")
    with pytest.raises(LedgerError, match=r"empty .0 bytes.*restore") as told:
        ledger.open_at(tmp_path)
    sentence(told)
    assert file.read_bytes() == b""


@pytest.mark.parametrize("name", ["what?x=1", "100%20%s", "a b#c", "n\u00e4me", "quo'te\"s", "x" * 200])
def test_a_home_may_have_any_name(tmp_path, name):
    book = ledger.open_at(tmp_path / name)
    lots.receive(book, Lot(name="L", powder="m", origin="received"), 1.0, ME)
    book.engine.dispose()
    assert (tmp_path / name / "ledger.sqlite").stat().st_size
    assert [each.name for each in tmp_path.iterdir()] == [name]


@pytest.mark.slow
def test_another_program_that_holds_the_ledger_is_told(file, tmp_path, monkeypatch):
    monkeypatch.setattr("sagger.ledger.troubles.PATIENCE_S", 0.2)
    book = ledger.open_at(tmp_path)
    with closing(sqlite3.connect(file)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LedgerError, match="another program holds") as told:
            lots.scrap(book, "L", 1.0, ME)
    sentence(told)
    lots.scrap(book, "L", 1.0, ME)


def test_a_newer_edition_is_told(file, tmp_path):
    with closing(sqlite3.connect(file)) as other:
        other.execute("UPDATE alembic_version SET version_num = '9999'")
        other.commit()
    with pytest.raises(LedgerError, match="newer edition; update Sagger"):
        ledger.open_at(tmp_path)


@pytest.mark.parametrize("number", [2**31, 2**63, 10**30])
def test_a_number_larger_than_any_is_none(filled, number):
    with pytest.raises(LedgerError, match=r"there is no (job|such number)") as told:
        jobs.one(filled, number)
    sentence(told)


def test_a_ledger_that_may_only_be_read_is_read_and_not_written(file, tmp_path, monkeypatch):
    monkeypatch.setattr("sagger.ledger.troubles.writable", lambda path: False)
    book = ledger.open_at(tmp_path)
    assert lots.account(book).received == 100.0
    with pytest.raises(LedgerError, match="may not be written by you") as told:
        lots.scrap(book, "L", 1.0, ME)
    sentence(told)


@pytest.mark.slow
def test_a_full_disk_is_told_and_nothing_is_lost(file, tmp_path, monkeypatch):
    book = ledger.open_at(tmp_path)
    with book.engine.connect() as connection:  # SQLite says of this just what it says of a full disk
        connection.exec_driver_sql("PRAGMA max_page_count = 1")
        connection.exec_driver_sql("ROLLBACK")
        monkeypatch.setattr(ledger.Ledger, "writing", lambda self: _on(self, connection))
        with pytest.raises(LedgerError, match=r"the disk that holds .* is full") as told:
            for _ in range(400):
                lots.scrap(book, "L", 0.01, ME)
    sentence(told)
    monkeypatch.undo()
    entries.check(ledger.open_at(tmp_path))


def _on(book, connection):
    from contextlib import contextmanager

    @contextmanager
    def writing():
        with book._told():
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.exec_driver_sql("COMMIT")
            except BaseException:
                with suppress(sa.exc.OperationalError):  # SQLite took it back itself
                    connection.exec_driver_sql("ROLLBACK")
                raise

    return writing()


def test_a_copy_says_where_it_cannot_be_written(filled, tmp_path):
    with pytest.raises(LedgerError, match="cannot be written"):
        archive.write(filled, tmp_path / "none" / "copy.zip")
    archive.write(filled, tmp_path / "copy.zip")
    with pytest.raises(LedgerError, match="is there already"):
        archive.write(filled, tmp_path / "copy.zip")
    assert not list(tmp_path.glob(".*.part"))
    shutil.rmtree(tmp_path / "arrays")
