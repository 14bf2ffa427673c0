"""Orders in the making: files that came in, and the version of an order that is made from them.

A draft is a folder that nobody but its owner can name; what is kept is a folder too, whose `order.toml` and
part files no one changes afterwards. A change is a new version.
"""

from __future__ import annotations

import dataclasses
import json
import os
import secrets
import shutil
from pathlib import Path

import numpy as np

from sagger import files
from sagger.desk import uploads
from sagger.desk.home import home, ledger
from sagger.desk.planning.orders import named
from sagger.errors import InputError
from sagger.files import lot as lot_file
from sagger.files.parts import ENDINGS, offered
from sagger.goods.good import good
from sagger.goods.plain import Plain, Table, rows, table, text
from sagger.ledger import versions
from sagger.views.words.changes import changes


@good
class UploadedFile:
    """One file of a draft."""

    name: str
    kind: str  # "STL", …; "order" and "lot" for such files; "" if it was refused
    words: str  # what it holds, or why it was refused
    needs_unit: bool
    size: tuple[float, float, float] | None  # overall, in the file's own unit where it names none, else mm
    triangles: int
    bodies: int = 1  # of an assembly; each becomes a part of the order unless one is chosen
    inside: tuple[tuple[str, int], ...] = ()  # of an assembly: name of each body, and how often it is placed


def uploaded(token: str) -> list[UploadedFile]:
    """The files of a draft by name, each read once."""
    paths = [uploads.held(token, name) for name in uploads.names(token)]
    return [_seen(path) for path in paths if path.suffix.lower() in (*ENDINGS, ".toml")]


def drop(token: str, name: str) -> None:
    """Take a file out of a draft."""
    path = uploads.held(token, name)
    path.unlink(missing_ok=True)
    _note(path).unlink(missing_ok=True)


def order_in(token: str) -> Table | None:
    """What the order file that came with a draft says, part files by bare names; None without one."""
    sheets = [each.name for each in uploaded(token) if each.kind == "order"]
    if not sheets:
        return None
    return _bare(files.order.tables(uploads.held(token, sheets[-1])))


def save(token: str, tables: Table, person: str) -> int:
    """Number of the first version of a new order, made from a draft.

    Raises
    ------
    OrderError, CardError
        If something does not fit; the draft stays as it is.
    """
    at = uploads.folder(token, person)
    made = _made(tables, at)
    shutil.rmtree(at, ignore_errors=True)
    return versions.add(ledger(), _name(tables), made, person)


def change(version: int, tables: Table, person: str) -> int:
    """Number of a new version of an order that says what `tables` say; the one before stays as it is.

    Raises
    ------
    OrderError, CardError
        If something does not fit.
    InputError
        If nothing differs.
    """
    book = ledger()
    before = versions.one(book, version)
    old = files.order.tables(Path(before.folder) / "order.toml")
    new = files.order.checked(tables, "order.toml")
    differs = changes(old, new)
    if not differs:
        raise InputError("nothing differs from the version before", remedy="Change a field first.")
    made = _made(new, Path(before.folder))
    return versions.add(book, _name(new), made, person, version, differs)


def tables(version: int) -> Table:
    """What the order file of a version says."""
    return files.order.tables(Path(versions.one(ledger(), version).folder) / "order.toml")


def _made(tables: Table, source: Path) -> Path:
    """A folder of its own with the order file and the part files it names, once they fit."""
    # Names without folders, so that no order reaches for a file that did not come with it.
    bare = _bare(tables)
    orders = home() / "orders"
    aside = orders / f".{secrets.token_hex(6)}"
    aside.mkdir(parents=True)
    try:
        (aside / "order.toml").write_text(files.order.text(bare), "utf-8")
        for name in {*(text(part, "file") for part in rows(bare, "part")), *_of_lot(bare, source)}:
            if (source / name).is_file():
                os.link(source / name, aside / name)
        named(aside / "order.toml")
        final = orders / aside.name.lstrip(".")
        os.replace(aside, final)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return final


def _of_lot(tables: Table, source: Path) -> set[str]:
    """The file of the powder lot, and the tables it may name."""
    lot = text(table(tables, "cards"), "lot")
    return {lot, *(path.name for path in source.glob("*.csv"))} if lot.endswith(".toml") else set()


def _bare(tables: Table) -> Table:
    """The tables with the names of files, but no folders."""

    def name(path: str) -> str:
        return path.replace("\\", "/").rpartition("/")[2]

    parts: list[Plain] = [{**part, "file": name(text(part, "file"))} for part in rows(tables, "part")]
    cards = table(tables, "cards")
    lot = text(cards, "lot")
    if lot.endswith(".toml"):
        cards = {**cards, "lot": name(lot)}
    return {**tables, "part": parts, "cards": cards}


def _name(tables: Table) -> str:
    return text(table(tables, "order"), "name")


def _seen(path: Path) -> UploadedFile:
    note, stat = _note(path), path.stat()
    stamp = [stat.st_size, stat.st_mtime_ns]
    if note.exists():
        facts = json.loads(note.read_text())
        if facts.pop("stamp") == stamp and facts["kind"]:  # what was refused may wait for a file beside it
            facts["size"] = facts["size"] and tuple(facts["size"])
            facts["inside"] = tuple((name, copies) for name, copies in facts.get("inside", ()))
            return UploadedFile(**facts)
    seen = _look(path)
    facts = {field.name: getattr(seen, field.name) for field in dataclasses.fields(UploadedFile)}
    note.write_text(json.dumps(facts | {"stamp": stamp}))
    return seen


def _look(path: Path) -> UploadedFile:
    try:
        if path.suffix.lower() == ".toml":
            return _sheet(path)
        parts = files.read_parts(path, assume="mm")
    except InputError as error:
        return UploadedFile(
            name=path.name, kind="", words=str(error), needs_unit=False, size=None, triangles=0
        )
    extent = np.ptp(parts[0].shape.vertices, axis=0)
    size = (float(extent[0]), float(extent[1]), float(extent[2]))
    words = f"{len(parts)} bodies: {offered(parts)}" if len(parts) > 1 else ""
    return UploadedFile(
        name=path.name,
        kind=parts[0].format,
        words=words,
        needs_unit=parts[0].unit_from == "assumed",
        size=None if words else size,
        triangles=sum(len(part.shape.triangles) for part in parts),
        bodies=len(parts),
        inside=tuple((part.body, part.copies) for part in parts) if words else (),
    )


def _sheet(path: Path) -> UploadedFile:
    """An order file, or the file of a powder lot: it is one that names no order."""
    kind, words = "order", "fills the form"
    if b"[order]" not in path.read_bytes():
        lot = lot_file.read(path)
        kind, words = "lot", f"powder lot {lot.name} of {lot.powder}"
    else:
        files.order.tables(path)
    return UploadedFile(name=path.name, kind=kind, words=words, needs_unit=False, size=None, triangles=0)


def _note(path: Path) -> Path:
    return path.with_name(f"{path.name}.seen.json")
