"""A shop with something of everything in its book, and what it holds, on SQLite or PostgreSQL.

`sagger` is called in a child, as a shell would call it; what such a child loads, this process loads as well, so that
the next child has it from the start.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import shutil
import sys
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import sqlalchemy as sa

URL, SERVER, CONTROL = "SAGGER_LEDGER_URL", "SAGGER_TEST_POSTGRES", "SAGGER_TEST_POSTGRES_CONTROL"
LIBRARY = (
    "Traceback",
    "Error:",
    "Exception",
    "errno",
    "sqlalchemy",
    "sqlite3.",
    "pg8000",
    "(Background",
    "codec",
    "numpy",
)
ME = ("--person", "A. Person")


class Ended(NamedTuple):
    """How a command ended."""

    code: int  # 1 is a traceback, below 0 a signal
    said: str

    @property
    def wrong(self) -> str:
        """What is not as a person should meet it, or nothing."""
        if self.code == 1 or self.code < 0 or "Traceback" in self.said:
            return "traceback"
        return "library word" if any(word in self.said for word in LIBRARY) else ""


class Shop:
    """A folder with `home`, `in` (tables to be read) and `out`, and a database on a server if there is one."""

    def __init__(self, folder: Path, database: str = "", aside: Path | None = None) -> None:
        self.folder, self.database = folder, database
        self.aside = aside or folder.parent  # where what a command said is written
        for name in ("home", "in", "out"):
            (folder / name).mkdir(parents=True, exist_ok=True)

    @property
    def url(self) -> str:
        """Of the ledger; nothing for a file in the home."""
        if not self.database:
            return ""
        server = sa.make_url(os.environ[SERVER]).set(drivername="postgresql+pg8000")
        return server.set(database=self.database).render_as_string(hide_password=False)

    def entered(self) -> None:
        """Let everything in this process mean this shop."""
        os.environ["SAGGER_HOME"] = str(self.folder / "home")
        os.environ.pop(URL, None)
        if self.database:
            os.environ[URL] = self.url
        os.chdir(self.folder)

    def started(self, words: tuple[str, ...], typed: str = "") -> int:
        """Process of one command; what it says stands in a file beside this folder."""
        self.entered()
        child = os.fork()
        if not child:
            _become(words, typed, self.aside / "said")
        return child

    def ended(self, child: int) -> Ended:
        """How that process ended."""
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        said = self.aside / "said"
        return Ended(code, said.read_text("utf-8", "replace") if said.exists() else "")

    def say(self, *words: str, typed: str = "") -> Ended:
        """One command, waited for."""
        return self.ended(self.started(words, typed))

    def copied(self, folder: Path, database: str = "") -> Shop:
        """The same shop at another place, as it stands now."""
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(self.folder, folder, symlinks=True)
        if database:
            at_server(f"DROP DATABASE IF EXISTS {database} WITH (FORCE)")
            at_server(f"CREATE DATABASE {database} TEMPLATE {self.database}")
        return Shop(folder, database, self.aside)

    @contextlib.contextmanager
    def book(self) -> Iterator[object]:
        """The ledger, opened in this process, and closed before another child is made."""
        from sagger.desk import home

        self.entered()
        opened = home.ledger()
        try:
            yield opened
        finally:
            opened.engine.dispose()

    def rows(self) -> Counter[str]:
        """Rows of every table."""
        with self.book() as book, book.reading() as connection:  # type: ignore[attr-defined]
            names = [name for name in sa.inspect(connection).get_table_names() if name != "alembic_version"]
            return Counter(
                {
                    name: connection.exec_driver_sql(f'SELECT count(*) FROM "{name}"').scalar()
                    for name in names
                }
            )

    def files(self) -> set[str]:
        """Files that are kept: own cards and what was written out; arrays go by their digests."""
        roots = [self.folder / "home" / name for name in ("cards", "arrays", "orders")] + [
            self.folder / "out"
        ]
        return {
            str(path.relative_to(self.folder)) for root in roots for path in root.rglob("*") if path.is_file()
        }

    def proved(self) -> str:
        """What is wrong with the book and its mass; nothing if all of it holds."""
        from sagger.errors import LedgerError
        from sagger.ledger import lots, proof

        try:
            with self.book() as book:
                proof.prove(book)  # type: ignore[arg-type]
                gap = lots.account(book).gap  # type: ignore[arg-type]
        except LedgerError as error:
            return str(error)
        return f"mass is off by {gap:g} kg" if abs(gap) > 1e-9 else ""


def at_server(sql: str) -> None:
    """One statement outside any transaction."""
    url = sa.make_url(os.environ[SERVER]).set(drivername="postgresql+pg8000")
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.exec_driver_sql(sql)
    engine.dispose()


def _become(words: tuple[str, ...], typed: str, said: Path) -> None:
    """In a child: the command itself. Never returns."""
    code = 1
    try:
        reads, writes = os.pipe()
        os.write(writes, typed.encode())
        os.close(writes)
        os.dup2(reads, 0)
        sys.stdin = os.fdopen(0, encoding="utf-8", closefd=False)
        aside = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(aside, 2)
        code = _command(words)
        loaded = [
            name for name in sys.modules if name.partition(".")[0] in ("sagger", "scipy", "ortools", "typst")
        ]
        said.with_suffix(".loaded").write_text("\n".join(loaded))
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def _command(words: tuple[str, ...]) -> int:
    from sagger import cli

    sys.argv = ["sagger", *words]
    try:
        cli.main()
    except SystemExit as end:
        return int(end.code or 0)
    except BaseException:
        os.write(2, traceback.format_exc().encode())
        return 1
    return 0


def loaded_too(shop: Shop) -> None:
    """Load here what the command before loaded, which makes every later child quicker."""
    path = shop.aside / "said.loaded"
    for name in path.read_text().split() if path.exists() else ():
        if name not in sys.modules:
            with contextlib.suppress(Exception):  # a name that is no module of its own
                importlib.import_module(name)
