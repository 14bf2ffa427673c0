"""A fresh ledger for a test, on SQLite and on PostgreSQL. `.ci/with-postgres` brings a server."""

import os

import pytest
import sqlalchemy as sa

from sagger import ledger
from sagger.ledger.tables import metadata

TABLES = ", ".join(f'"{table}"' for table in metadata.tables)


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    """URL of a migrated and empty database on the server that the surroundings name."""
    said = os.environ.get("SAGGER_TEST_POSTGRES")
    if not said:
        pytest.skip("no PostgreSQL to test on: run .ci/with-postgres pytest tests/ledger")
    url, name = sa.make_url(said).set(drivername="postgresql+pg8000"), f"sagger_{os.getpid()}"
    _say(url, f"CREATE DATABASE {name}")
    own = url.set(database=name)
    ledger.open_at(tmp_path_factory.mktemp("server"), own.render_as_string(hide_password=False))
    yield own
    _say(url, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request, tmp_path):
    """Folder and URL, as `ledger.open_at` takes them; nothing stands in the ledger."""
    if request.param == "sqlite":
        return tmp_path, ""
    url = request.getfixturevalue("server")
    _say(url, f"TRUNCATE {TABLES} RESTART IDENTITY")
    return tmp_path, url.render_as_string(hide_password=False)


@pytest.fixture
def book(where):
    made = ledger.open_at(*where)
    yield made
    made.engine.dispose()


def _say(url, statement):
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(statement))
    engine.dispose()
