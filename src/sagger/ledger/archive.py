"""A whole ledger in one file, and back: a zip of tables as JSON lines, arrays, orders, cards, digests.

The same file comes of SQLite and of PostgreSQL, and goes into either.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import IO, NamedTuple

import sqlalchemy as sa

from sagger.errors import LedgerError, not_written
from sagger.goods.good import good
from sagger.ledger import sayings, store, tables
from sagger.ledger.store import Ledger

SCHEMA = "sagger-ledger/1"
MANIFEST = "MANIFEST.json"
FOLDERS = ("arrays", "orders", "cards")  # beside the database, that belong to it
# Nothing else in an archive becomes a file: no name leads out of these folders.
NAME = re.compile(r"(?:arrays|orders|cards)(?:/(?!\.)[^/\\\0:]{1,200}){1,4}")
MANY = 500  # rows that are written at once
BLOCK = 1 << 20


@good
class Archived:
    """What a copy holds."""

    tables: Mapping[str, int]  # rows by table
    files: int
    bytes: int  # of all that was copied, unpacked


def write(ledger: Ledger, path: Path) -> Archived:
    """Copy a ledger as it stands at one moment into a new file; others may go on writing meanwhile.

    Raises
    ------
    LedgerError
        If the file is there already or cannot be written.
    """
    if path.exists():
        raise LedgerError(f"{path} is there already and is not written over; give another name")
    aside = path.with_name(f".{path.name}.{os.getpid()}.part")
    _swept(path)
    try:
        with zipfile.ZipFile(aside, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
            archived = _pack(ledger, packed)
        with aside.open("rb") as whole:
            os.fsync(whole.fileno())
        os.replace(aside, path)
    except (OSError, zipfile.LargeZipFile) as error:
        full = not_written(error, path) if isinstance(error, OSError) else None
        words = f"{path} cannot be written: it is too large, or there is no such folder"
        raise LedgerError(f"{full or words}. The ledger is as it was") from error
    finally:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
    return archived


def _swept(path: Path) -> None:
    """Take away what copying to the same file left aside when it was killed."""
    alive = {process.name for process in Path("/proc").glob("[0-9]*")}
    for left in path.parent.glob(f".{path.name}.*.part") if alive else ():
        if left.name.split(".")[-2] not in alive:
            with suppress(OSError):
                left.unlink()


def _pack(ledger: Ledger, packed: zipfile.ZipFile) -> Archived:
    digests, counts, size = dict[str, str](), dict[str, int](), 0
    with ledger.reading() as connection:
        for table in tables.metadata.sorted_tables:
            state, count = hashlib.blake2b(digest_size=16), 0
            with packed.open(f"tables/{table.name}.jsonl", "w", force_zip64=True) as out:
                for line in lines(connection, table):
                    out.write(line)
                    state.update(line)
                    count, size = count + 1, size + len(line)
            digests[f"tables/{table.name}.jsonl"], counts[table.name] = state.hexdigest(), count
    files = list(_files(ledger.folder))
    for path in files:
        name = path.relative_to(ledger.folder).as_posix()
        with path.open("rb") as source, packed.open(name, "w", force_zip64=True) as out:
            digests[name] = _copied(source, out)
        size += path.stat().st_size
    head = {
        "schema": SCHEMA,
        "revision": store.NEWEST,
        "home": str(ledger.folder.resolve()),
        "digests": digests,
    }
    packed.writestr(MANIFEST, json.dumps(head | {"rows": counts}, indent=1))
    return Archived(tables=counts, files=len(files), bytes=size)


def lines(connection: sa.Connection, table: sa.Table) -> Iterator[bytes]:
    """Rows of a table by primary key, each a JSON list in the order of the columns, with a line feed."""
    (key,) = table.primary_key.columns
    for row in connection.execute(sa.select(table).order_by(key)):
        yield json.dumps(list(row), ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _files(folder: Path) -> Iterator[Path]:
    for name in FOLDERS:
        for path in sorted((folder / name).rglob("*")) if (folder / name).is_dir() else ():
            told = path.relative_to(folder).as_posix()
            if path.is_file() and not path.is_symlink() and NAME.fullmatch(told) and path.suffix != ".part":
                yield path


def _copied(source: IO[bytes], out: IO[bytes]) -> str:
    """Digest of what was copied."""
    state = hashlib.blake2b(digest_size=16)
    while block := source.read(BLOCK):
        out.write(block)
        state.update(block)
    return state.hexdigest()


def read(path: Path, ledger: Ledger) -> Archived:
    """Bring a copy back into a ledger in which nothing was booked yet.

    Raises
    ------
    LedgerError
        If the copy is damaged or of another edition, the ledger is not empty, a file of it is there already
        and says something else, or it cannot be written.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            head = _head(packed, path)
            _check(packed, head.digests, path)
            with ledger.reading() as connection:
                _refuse_filled(connection, ledger)
            _refuse_others(head.digests, ledger.folder)
            _unpack(packed, head.digests, ledger.folder)
            with ledger.writing() as connection:
                _refuse_filled(connection, ledger)
                _fill(connection, packed, head, ledger)
    except (zipfile.BadZipFile, EOFError, NotImplementedError, KeyError, RuntimeError, UnicodeError) as error:
        raise _damaged(path) from error
    except OSError as error:
        what = f"{path} cannot be brought back ({not_written(error) or 'it cannot be read'})"
        raise LedgerError(f"{what}; nothing was booked") from error
    files = [name for name in head.digests if NAME.fullmatch(name)]
    size = sum(entry.file_size for entry in zipfile.ZipFile(path).infolist())
    return Archived(tables=head.rows, files=len(files), bytes=size)


class ArchiveHead(NamedTuple):
    """What a copy says of itself."""

    revision: str  # of the ledger's tables
    home: str  # folder it lay in
    digests: dict[str, str]  # by entry
    rows: dict[str, int]  # by table


def _head(packed: zipfile.ZipFile, path: Path) -> ArchiveHead:
    try:
        parsed = json.loads(packed.read(MANIFEST))
        head = ArchiveHead(*(parsed[field] for field in ArchiveHead._fields))
    except (ValueError, TypeError) as error:
        raise _damaged(path) from error
    if parsed.get("schema") != SCHEMA:
        raise LedgerError(f"{path} is no copy of a ledger; `sagger ledger backup` makes one")
    if head.revision != store.NEWEST:
        wrong = f"{path} was made by another edition (its ledger is {head.revision}, this one {store.NEWEST})"
        raise LedgerError(
            f"{wrong}. Restore it with that edition; this one brings the ledger up to date then"
        )
    return head


def _check(packed: zipfile.ZipFile, digests: Mapping[str, str], path: Path) -> None:
    """Every byte of every entry, before anything is written."""
    wanted = {f"tables/{table.name}.jsonl" for table in tables.metadata.sorted_tables}
    if not wanted <= digests.keys() or {*packed.namelist()} != {*digests, MANIFEST}:
        raise _damaged(path)
    for name, digest in digests.items():
        if name not in wanted and (not NAME.fullmatch(name) or ".." in name):
            raise LedgerError(
                f"{path} names a file that belongs to no ledger ({name[:80]!r}); it is left alone"
            )
        with packed.open(name) as source, open(os.devnull, "wb") as out:
            if _copied(source, out) != digest:
                raise LedgerError(f"{path} is damaged: {name} is not what was copied. Take an older copy")


def _unpack(packed: zipfile.ZipFile, names: Iterable[str], folder: Path) -> None:
    for name in names:
        if NAME.fullmatch(name):
            final = folder / name
            final.parent.mkdir(parents=True, exist_ok=True)
            aside = final.with_name(f".{final.name}.part")
            with packed.open(name) as source, aside.open("wb") as out:
                _copied(source, out)
            os.replace(aside, final)


def _refuse_filled(connection: sa.Connection, ledger: Ledger) -> None:
    for table in tables.metadata.sorted_tables:
        if connection.execute(sa.select(sa.func.count()).select_from(table)).scalar():
            what = f"{ledger.name} is not empty, and a copy is never brought back over it"
            raise LedgerError(f"{what}. Set SAGGER_HOME to a new folder, or move this one aside")


def _refuse_others(digests: Mapping[str, str], folder: Path) -> None:
    """A file that is there already stays as it is: the same bytes, or nothing is brought back."""
    for name, digest in digests.items():
        if NAME.fullmatch(name) and (own := folder / name).exists():
            with own.open("rb") as source, open(os.devnull, "wb") as out:
                same = _copied(source, out) == digest
            if not same:
                what = f"{own} is there already and says something else; nothing was brought back"
                raise LedgerError(f"{what}. Set SAGGER_HOME to a new folder, or move the file aside")


def _fill(connection: sa.Connection, packed: zipfile.ZipFile, head: ArchiveHead, ledger: Ledger) -> None:
    for table in tables.metadata.sorted_tables:
        name, names = f"tables/{table.name}.jsonl", [column.name for column in table.columns]
        rows = list[dict[str, object]]()
        with packed.open(name) as source:
            for line in source:
                rows.append(dict(zip(names, json.loads(line), strict=True)))
                if len(rows) == MANY:
                    connection.execute(sa.insert(table), rows)
                    rows = []
        if rows:
            connection.execute(sa.insert(table), rows)
        state = hashlib.blake2b(digest_size=16)
        for line in lines(connection, table):
            state.update(line)
        if state.hexdigest() != head.digests[name]:
            what = f"table {table.name} came back otherwise than it was copied; nothing was booked"
            raise LedgerError(f"{what}. Report it: this is a fault of the program")
        _count_on(connection, table)
    _move(connection, head.home, str(ledger.folder.resolve()))


def _count_on(connection: sa.Connection, table: sa.Table) -> None:
    """PostgreSQL numbers new rows by a counter that knows nothing of rows with numbers of their own."""
    if connection.dialect.name == "postgresql" and isinstance(table.c[0].type, sa.Integer):
        last = connection.execute(sa.select(sa.func.max(table.c.id))).scalar()
        counter = connection.execute(
            sa.select(sa.func.pg_get_serial_sequence(f'"{table.name}"', "id"))
        ).scalar()
        if last and counter:
            connection.execute(sa.select(sa.func.setval(counter, last)))


def _move(connection: sa.Connection, old: str, new: str) -> None:
    """Folders of orders and jobs that lay in the old home lie in the new one."""
    for table in (tables.version, tables.job) if old != new else ():
        for row in connection.execute(sa.select(table.c.id, table.c.folder)).all():
            if row.folder.startswith(f"{old}/"):
                moved = new + row.folder[len(old) :]
                connection.execute(sa.update(table).where(table.c.id == row.id).values(folder=moved))
                if table is tables.version:
                    sayings.say_again(connection, row.id)


def _damaged(path: Path) -> LedgerError:
    return LedgerError(f"{path} is no whole copy of a ledger: it was cut or damaged. Take an older copy")
