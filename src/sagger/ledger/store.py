"""Opening the ledger: a folder with one SQLite file and the arrays beside it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import event

from sagger.errors import LedgerError

NEWEST = "0001"  # last migration


@dataclass(frozen=True, slots=True)
class Ledger:
    """An open ledger. Writes go through `writing`, reads through `reading`."""

    folder: Path
    engine: sa.Engine

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A transaction that holds the write lock from its start, so that no reader turns writer in vain."""
        with self.engine.connect().execution_options(begin="IMMEDIATE") as connection, connection.begin():
            yield connection

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A transaction that sees one state and takes no lock."""
        with self.engine.connect() as connection, connection.begin():
            yield connection


def open_at(folder: Path) -> Ledger:
    """The ledger in `folder`, made or brought up to date if need be.

    Raises
    ------
    LedgerError
        If the folder cannot be written, the file is no ledger, or it comes from a newer edition.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "arrays").mkdir(exist_ok=True)
    except OSError as error:
        what = f"cannot keep the ledger in {folder}: {error.strerror}"
        raise LedgerError(f"{what}. Set SAGGER_HOME to a folder that can be written") from error
    ledger = Ledger(folder, _engine(folder / "ledger.sqlite"))
    try:
        _bring_up_to_date(ledger)
    except sa.exc.DBAPIError as error:
        raise LedgerError(
            f"{folder / 'ledger.sqlite'} cannot be read as a ledger ({error.orig}). "
            "Move it aside, or set SAGGER_HOME to another folder"
        ) from error
    return ledger


def _engine(path: Path) -> sa.Engine:
    engine = sa.create_engine(f"sqlite:///{path}", connect_args={"timeout": 30.0})

    @event.listens_for(engine, "connect")
    def settle(connection: object, record: object) -> None:
        connection.isolation_level = None  # type: ignore[attr-defined]  # transactions are begun below
        for pragma in ("journal_mode=WAL", "synchronous=NORMAL", "foreign_keys=ON"):
            connection.execute(f"PRAGMA {pragma}").close()  # type: ignore[attr-defined]

    @event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        mode = connection.get_execution_options().get("begin", "DEFERRED")
        connection.exec_driver_sql(f"BEGIN {mode}")

    return engine


def _bring_up_to_date(ledger: Ledger) -> None:
    at = _revision(ledger)
    if at == NEWEST:
        return
    if at > NEWEST:
        raise LedgerError(f"the ledger in {ledger.folder} was written by a newer edition; update Sagger")
    if at:
        path = ledger.folder / "ledger.sqlite"
        shutil.copy2(path, path.with_suffix(f".{at}.sqlite"))
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with ledger.writing() as connection:
        if _revision_on(connection) != NEWEST:  # another process may have been quicker
            config.attributes["connection"] = connection
            command.upgrade(config, "head")


def _revision(ledger: Ledger) -> str:
    with ledger.reading() as connection:
        return _revision_on(connection)


def _revision_on(connection: sa.Connection) -> str:
    if not sa.inspect(connection).has_table("alembic_version"):
        return ""
    return str(connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar() or "")
