"""Ledgers with a page damaged, and ledgers with a value edited: each is told, or holds what it held."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import sqlalchemy as sa

from soaking.shop import CONTROL, SERVER, Shop, at_server

NO_WEIGHT = {  # ends by itself, or says only when and how quick: nothing is planned from it
    ("session", ""), ("alembic_version", ""), ("use", "remembered"), ("work", "began"), ("work", "seconds"),
    ("job", "folder"), ("job", "host"), ("job", "process"), ("job", "process_began"), ("job", "message"), ("job", "step"),
    ("job", "doing"), ("job", "done"), ("job", "total"), ("job", "stop"), ("job", "improving"), ("job", "enough"),
    ("job", "began"), ("job", "ended"), ("job", "edition"), ("job", "start"), ("job", "person"), ("job", "name"),
}  # fmt: skip


def ledgers(rng: random.Random, count: int, until: float, shop: Shop) -> Counter[str]:
    """`count` edited and `count` damaged ones."""
    done: Counter[str] = Counter()
    folder, database = shop.folder.with_name("damaged"), f"{shop.database}_d" if shop.database else ""
    before = _says(shop)
    for number in range(2 * count):
        if time.monotonic() > until:
            break
        copy = shop.copied(folder, database)
        kind, where = _damaged(rng, copy, number) if number % 2 else ("edited", _edited(rng, copy))
        same = _says(copy) == before
        while number % 2 and same:  # what fell over lies where nothing is kept
            done["damaged where nothing is kept, drawn again"] += 1
            copy = shop.copied(folder, database)
            kind, where = _damaged(rng, copy, number)
            same = _says(copy) == before
        done[kind] += 1
        code, said = _looked_at(copy)
        if code == 0:
            done[f"{kind}: nothing in it changed" if same else f"{kind}: NOT TOLD ({where})"] += 1
        elif code == 5:
            done[f"{kind}: told"] += 1
            if any(word in said for word in ("Traceback", "sqlalchemy", "sqlite3.", "pg8000", "Background")):
                done["library words"] += 1
                sys.stderr.write(f"{kind}, {where}: {said}\n")
        else:
            done["traceback"] += 1
            sys.stderr.write(f"{kind}, {where}: {said[-1500:]}\n")
    return done


def _looked_at(copy: Shop) -> tuple[int, str]:
    """In a child: 0 if all of it holds, 5 if it is told that it does not, 1 with a traceback; and the words."""
    from sagger import ledger
    from sagger.desk import home
    from sagger.errors import LedgerError
    from sagger.ledger import proof

    copy.entered()
    path = copy.folder.with_suffix(".told")
    path.unlink(missing_ok=True)
    child = os.fork()
    if not child:
        code = 1
        try:
            proof.prove(ledger.open_at(home.home(), copy.url))
            code = 0
        except LedgerError as error:
            path.write_text(str(error))
            code = 5
        except BaseException:
            path.write_text(traceback.format_exc())
        finally:
            os._exit(code)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return code, path.read_text() if path.exists() else f"ended by {code}"


def _engine(shop: Shop) -> sa.Engine:
    return sa.create_engine(shop.url or f"sqlite:///{shop.folder / 'home' / 'ledger.sqlite'}")


def _says(shop: Shop) -> list[str] | None:
    """All that a ledger and its arrays say, and how its tables are made; None where it cannot be read any more."""
    engine = _engine(shop)
    try:
        with engine.connect() as connection:
            lines = list(_lines(connection))
    except Exception:  # whatever a library says of damaged pages
        return None
    finally:
        engine.dispose()
    return lines + [f"{path.name} {path.read_bytes()!r}" for path in _arrays(shop)]


def _lines(connection: sa.Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        yield from connection.connection.iterdump()  # type: ignore[attr-defined]
        return
    for name in sorted(sa.inspect(connection).get_table_names()):
        yield from sorted(
            f"{name} {tuple(row)}" for row in connection.exec_driver_sql(f'SELECT * FROM "{name}"')
        )


def _arrays(shop: Shop) -> list[Path]:
    return sorted((shop.folder / "home" / "arrays").rglob("*.npy"))


def _edited(rng: random.Random, shop: Shop) -> str:
    """One value of one row changed by SQL, or a row deleted; where."""
    engine = _engine(shop)
    row_id = "ctid" if shop.database else "rowid"
    with engine.begin() as connection:
        if shop.database:
            connection.exec_driver_sql(
                "SET session_replication_role = replica"
            )  # no foreign key stands in the way
        names = [name for name in sa.inspect(connection).get_table_names() if (name, "") not in NO_WEIGHT]
        filled = [
            name for name in names if connection.exec_driver_sql(f'SELECT count(*) FROM "{name}"').scalar()
        ]
        table = rng.choice(filled)
        rows = [str(row[0]) for row in connection.exec_driver_sql(f'SELECT {row_id} FROM "{table}"')]
        place = f"{row_id} = '{rng.choice(rows)}'" if shop.database else f"{row_id} = {rng.choice(rows)}"
        if rng.random() < 0.2:
            connection.exec_driver_sql(f'DELETE FROM "{table}" WHERE {place}')
            engine.dispose()
            return f"{table}, a row deleted"
        columns = sa.inspect(connection).get_columns(table)
        keys = set(sa.inspect(connection).get_pk_constraint(table)["constrained_columns"])
        free = [
            each["name"]
            for each in columns
            if each["name"] not in keys and (table, each["name"]) not in NO_WEIGHT
        ]
        column = rng.choice(free)
        was = connection.exec_driver_sql(f'SELECT "{column}" FROM "{table}" WHERE {place}').scalar()
        change = sa.text(f'UPDATE "{table}" SET "{column}" = :new WHERE {place}')
        connection.execute(change, {"new": _other(was, sa.inspect(connection), table, column)})
    engine.dispose()
    return f"{table}.{column}"


def _other(was: object, inspected: sa.Inspector, table: str, column: str) -> object:
    """Another value of the same kind."""
    if isinstance(was, bool):
        return not was
    if isinstance(was, int | float):
        return was + 1
    kind = next(each["type"] for each in inspected.get_columns(table) if each["name"] == column)
    if was is None and not isinstance(kind, sa.String):
        return 1
    return f"{str(was or '')[:-1]}~"


def _damaged(rng: random.Random, shop: Shop, number: int) -> tuple[str, str]:
    """A page or a bit of a file of the ledger that is not what was written; how, and where."""
    arrays = _arrays(shop)
    way = ("random page", "zero page", "one bit")[number // 2 % 3]
    if number // 2 % 4 == 3:
        path = rng.choice(arrays)
        _fallen(rng, path, way)
        return f"damaged array, {way}", path.name
    if not shop.database:
        path = shop.folder / "home" / "ledger.sqlite"
        _settled(shop)
        _fallen(rng, path, way)
        return f"damaged, {way}", path.name
    return f"damaged, {way}", _server_page(rng, shop, way)


def _settled(shop: Shop) -> None:
    """All pages in the file itself, none in its journal."""
    engine = _engine(shop)
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    engine.dispose()
    for left in (shop.folder / "home").glob("ledger.sqlite-*"):
        left.unlink()


def _server_page(rng: random.Random, shop: Shop, way: str) -> str:
    """A page of a table or index of the server, changed while the server is down."""
    engine = _engine(shop)
    with engine.connect() as connection:
        query = "SELECT relname, pg_relation_filepath(oid) FROM pg_class WHERE relkind IN ('r', 'i') AND relnamespace = 'public'::regnamespace"
        files = [
            (name, path)
            for name, path in connection.exec_driver_sql(query)
            if "session" not in name and "alembic" not in name
        ]
    engine.dispose()
    at_server("CHECKPOINT")
    root = Path(os.environ[CONTROL]).parent / "data"
    filled = [(name, root / path) for name, path in files if (root / path).stat().st_size]
    name, path = rng.choice(filled)
    _server("stop")
    _fallen(rng, path, way)
    _server("start")
    return name


def _server(word: str) -> None:
    subprocess.run([os.environ[CONTROL], word], check=True, stdout=subprocess.DEVNULL, cwd="/")


def _fallen(rng: random.Random, path: Path, way: str) -> None:
    data = bytearray(path.read_bytes())
    page = rng.randrange(max(1, len(data) // 4096)) * 4096
    end = min(len(data), page + 4096)
    if way == "one bit":
        data[page + rng.randrange(end - page)] ^= 1 << rng.randrange(8)
    else:
        data[page:end] = rng.randbytes(end - page) if way == "random page" else bytes(end - page)
    path.write_bytes(data)


def possible() -> bool:
    """Whether there is a server that can be stopped and started."""
    return bool(os.environ.get(SERVER) and os.environ.get(CONTROL))
