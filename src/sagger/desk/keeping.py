"""Keeping the ledger: looking at all of it, copies and their way back, open formats, and what may go."""

from __future__ import annotations

import json
import shutil
import zipfile
from collections.abc import Mapping
from pathlib import Path

from sagger import texts
from sagger.desk.home import home, ledger, write_whole
from sagger.errors import InputError, LedgerError, not_written
from sagger.goods.good import good
from sagger.ledger import archive, entries, proof, tables, tidying
from sagger.ledger.archive import Archived
from sagger.ledger.tidying import Tidied
from sagger.tick import Tick, silent

MIB = 2**20


@good
class LedgerProof:
    """What was looked at, as a document."""

    schema: str = "sagger-ledger-check/1"
    ledger: str
    found: proof.Proven


def check(noted: str = "", *, tick: Tick = silent) -> tuple[LedgerProof, list[str]]:
    """All of the ledger looked at; `noted` is the seal that was written down elsewhere.

    Raises
    ------
    LedgerError
        If anything was damaged, is gone, was edited or cut off: what, where, since when.
    """
    book = ledger()
    proven = proof.prove(book, tick)
    if noted and noted not in _seals():
        what = "no entry has the seal that was noted: the end of the book was cut off, or it is another book"
        raise LedgerError(f"{what}. Restore a copy made before: sagger ledger restore COPY")
    lines = [
        f"{book.name}: whole",
        f"{proven.entries} entries, {proven.accounts} accounts, {proven.jobs} jobs: each as it was written",
        f"{proven.bodies} results ({proven.older} of older editions) and {proven.arrays} arrays "
        f"({proven.bytes / MIB:.1f} MiB): each is what its name says",
        f"seal of the last entry: {proven.seal or 'none yet'}",
    ]
    if proven.idle:
        lines.append(f"{proven.idle} arrays are named by nothing; `sagger ledger tidy` takes them out")
    return LedgerProof(ledger=book.name, found=proven), lines


def clock(person: str, reason: str) -> str:
    """Enter that the clock is right now, though the newest entry is of a later time; says which entry."""
    if not reason.strip():
        raise InputError("this needs a reason", field="reason")
    with ledger().writing() as connection:
        number = entries.clock_right(connection, person, reason)
    return f"entry {number}: the clock counts as right from now on"


def backup(into: Path) -> tuple[Archived, list[str]]:
    """One file with all of the ledger as it stands now, orders and own cards; it may be in use meanwhile."""
    made = archive.write(ledger(), into)
    return made, [f"{into}: {_told(made)}"]


def restore(copy: Path) -> tuple[Archived, list[str]]:
    """A copy brought back into SAGGER_HOME, which must hold no ledger yet, and looked at."""
    made = archive.read(copy, ledger())
    return made, [f"{home()}: {_told(made)}", *check()[1]]


def export(into: Path) -> tuple[Archived, list[str]]:
    """All of the ledger in a new folder: CSV a table, JSON lines for results, NPY arrays, orders, cards.

    Raises
    ------
    LedgerError
        If the folder is there already or cannot be written.
    """
    if into.exists():
        raise LedgerError(f"{into} is there already and is not written over; give another name")
    aside = into.with_name(f".{into.name}.part")
    shutil.rmtree(aside, ignore_errors=True)
    try:
        aside.mkdir(parents=True)
        made = archive.write(ledger(), aside / "ledger.zip")
        with zipfile.ZipFile(aside / "ledger.zip") as packed:
            packed.extractall(aside)
        (aside / "ledger.zip").unlink()
        for table in tables.metadata.sorted_tables:
            _as_csv(aside / "tables", table.name, [column.name for column in table.columns])
        aside.rename(into)
    except OSError as error:
        other = f"{into} cannot be written: there is no such folder, or it is a file"
        raise LedgerError(f"{not_written(error, into) or other}. The ledger is as it was") from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return made, [f"{into}: {_told(made)}"]


def tidy(days: float, *, do: bool) -> tuple[Tidied, list[str]]:
    """What old results and drafts may go; they go only with `do`."""
    tidied = tidying.tidy(ledger(), days, do=do)
    drafts = _drafts(days, do=do)
    verb = "taken out" if do else "would be taken out (say --do)"
    jobs = ", ".join(map(str, tidied.jobs)) or "none"
    return tidied, [
        f"results of jobs {jobs}; {tidied.kept} jobs stay whole",
        f"{tidied.bodies} results, {tidied.arrays} arrays ({tidied.bytes / MIB:.1f} MiB), {drafts} drafts "
        f"{verb}",
    ]


def _drafts(days: float, *, do: bool) -> int:
    from sagger.desk import uploads

    return uploads.swept(days * 86400.0, do=do)


def _seals() -> set[str]:
    with ledger().reading() as connection:
        return {row.digest for row in connection.execute(tables.entry.select())}


def _told(made: Archived) -> str:
    rows: Mapping[str, int] = made.tables
    return f"{sum(rows.values())} rows of {len(rows)} tables, {made.files} files, {made.bytes / MIB:.1f} MiB"


def _as_csv(folder: Path, name: str, columns: list[str]) -> None:
    """A table for a spreadsheet beside its JSON lines, which are what was kept, sign by sign."""
    with (folder / f"{name}.jsonl").open(encoding="utf-8") as file:
        rows = [dict(zip(columns, json.loads(line), strict=True)) for line in file]
    write_whole(folder / f"{name}.csv", texts.table(columns, rows).encode())
