"""Opening the ledger: a database, and a folder for the arrays beside it.

The database is one SQLite file in that folder, or a PostgreSQL that a URL names.
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event

from sagger.errors import LedgerError
from sagger.ledger import troubles

Row = dict[str, object]  # what goes into a table, by column
Found = sa.Row[tuple[Any, ...]]  # what comes out of one
NEWEST = "0011"  # last migration
WRITER = 0x5A66E6  # PostgreSQL: the advisory lock that one writer of a ledger holds


@dataclass(frozen=True, slots=True)
class Ledger:
    """An open ledger. Writes go through `writing`, reads through `reading`."""

    folder: Path
    engine: sa.Engine

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A transaction that holds the write lock from its start, so that no reader turns writer in vain."""
        with (
            self._told(),
            self.engine.connect().execution_options(begin="IMMEDIATE") as connection,
            connection.begin(),
        ):
            if not _is_file(self.engine):
                connection.execute(sa.text(f"SELECT pg_advisory_xact_lock({WRITER})"))
            yield connection

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A transaction that sees one state and takes no lock."""
        options = {} if _is_file(self.engine) else {"isolation_level": "REPEATABLE READ"}
        with (
            self._told(),
            self.engine.connect().execution_options(**options) as connection,
            connection.begin(),
        ):
            yield connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Troubles of the database in words for a person."""
        try:
            yield
        except troubles.UNUSABLE as error:
            sentence = troubles.told(error, self.folder, self.name)
            if sentence is None:
                raise
            raise sentence from error

    def size(self) -> int:
        """Bytes of the file of the database; 0 where a server keeps it."""
        path = self.folder / "ledger.sqlite"
        return path.stat().st_size if _is_file(self.engine) and path.exists() else 0

    @property
    def name(self) -> str:
        """Where the database is, without a password."""
        url = self.engine.url
        plain = url.set(drivername=url.get_backend_name())
        return str(url.database) if _is_file(self.engine) else plain.render_as_string(hide_password=True)


def open_at(folder: Path, url: str = "") -> Ledger:
    """The ledger in `folder`, made or brought up to date if need be.

    Parameters
    ----------
    folder : Path
        Holds the arrays, and the database unless `url` names another.
    url : str
        Such as "postgresql://user@host/sagger"; "" = one SQLite file in the folder.

    Raises
    ------
    LedgerError
        If the folder cannot be written, the database cannot be reached or is no ledger, or it comes from a
        newer edition.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # passwords' digests are nobody else's
        (folder / "arrays").mkdir(exist_ok=True)
    except OSError as error:
        if not (folder / "ledger.sqlite").exists():
            what = f"cannot keep the ledger in {folder}: {error.strerror}"
            raise LedgerError(f"{what}. Set SAGGER_HOME to a folder that can be written") from error
    path = folder / "ledger.sqlite"
    if not url:
        troubles.refuse_empty(path)
        if not path.exists():
            _make(path)
    ledger = Ledger(folder, _server(url) if url else _file(path))
    try:
        _bring_up_to_date(ledger)
    except BaseException:
        ledger.engine.dispose()
        raise
    return ledger


def _make(path: Path) -> None:
    """A new ledger, made aside and put in its place whole; whoever was quicker is left in peace."""
    if not os.access(path.parent, os.W_OK):
        raise LedgerError(
            f"cannot keep the ledger in {path.parent}: it may not be written by you. "
            "Set SAGGER_HOME to a folder that can be written"
        )
    aside = path.with_name(f".new-{secrets.token_hex(6)}.sqlite")
    new = Ledger(path.parent, _file(aside))
    try:
        _bring_up_to_date(new)
        with new.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        new.engine.dispose()
        with suppress(FileExistsError):
            os.link(aside, path)
    finally:
        new.engine.dispose()
        for left in path.parent.glob(f"{aside.name}*"):
            left.unlink(missing_ok=True)


def put_once(connection: sa.Connection, table: sa.Table, row: Mapping[str, object]) -> None:
    """Insert a row unless its primary key is taken. Needs the write lock; the same SQL on every database."""
    (key,) = table.primary_key.columns
    values = [sa.literal(value, table.c[name].type).label(name) for name, value in row.items()]
    absent = ~sa.exists().where(key == row[key.name])
    connection.execute(sa.insert(table).from_select(list(row), sa.select(*values).where(absent)))


def _is_file(engine: sa.Engine) -> bool:
    return engine.dialect.name == "sqlite"


def _server(url: str) -> sa.Engine:
    try:
        named = sa.make_url(url)
    except sa.exc.ArgumentError:
        what = "the ledger's URL cannot be read"
        raise LedgerError(f"{what}. Write for instance postgresql://user@host/sagger") from None
    if named.get_backend_name() != "postgresql":
        raise LedgerError(f"a ledger is SQLite or PostgreSQL, not {named.get_backend_name()}")
    try:
        # No pool: a page opens the ledger often, and a server has few connections to give.
        return sa.create_engine(named.set(drivername="postgresql+pg8000"), poolclass=sa.NullPool)
    except ModuleNotFoundError as error:
        raise LedgerError(f"{error.name} is missing; install Sagger with its extra `shop`") from None


def _file(path: Path) -> sa.Engine:
    # The path as it is: in a URL "?" and "%" would mean something.
    url = sa.URL.create("sqlite", database=str(path))
    if path.exists() and not troubles.writable(path):
        return sa.create_engine(url, creator=partial(_only_read, path), poolclass=sa.NullPool)
    engine = sa.create_engine(url, connect_args={"timeout": troubles.PATIENCE_S})

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


def _only_read(path: Path) -> sqlite3.Connection:
    """A ledger in a folder that may not be written: SQLite could not even keep its own notes beside it."""
    log = path.with_name(f"{path.name}-wal")
    settled = not log.exists() or not log.stat().st_size
    words = "mode=ro&immutable=1" if settled else "mode=ro"
    return sqlite3.connect(f"{path.resolve().as_uri()}?{words}", uri=True, check_same_thread=False)


def _bring_up_to_date(ledger: Ledger) -> None:
    at = _revision(ledger)
    if at == NEWEST:
        return
    if at > NEWEST:
        raise LedgerError(f"the ledger in {ledger.name} was written by a newer edition; update Sagger")
    if at and _is_file(ledger.engine):
        _set_aside(ledger.folder / "ledger.sqlite", at)
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with ledger.writing() as connection:
        if _revision_on(connection) != NEWEST:  # another process may have been quicker
            config.attributes["connection"] = connection
            command.upgrade(config, "head")


def _set_aside(path: Path, at: str) -> None:
    """A copy of a file that is about to be changed, with what still stands in its log."""
    with (
        closing(sqlite3.connect(path)) as source,
        closing(sqlite3.connect(path.with_suffix(f".{at}.sqlite"))) as copy,
    ):
        source.backup(copy)


def _revision(ledger: Ledger) -> str:
    with ledger.reading() as connection:
        return _revision_on(connection)


def _revision_on(connection: sa.Connection) -> str:
    if not sa.inspect(connection).has_table("alembic_version"):
        return ""
    return str(connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar() or "")
