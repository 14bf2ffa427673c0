"""Orders in the making: files that came in, and the version of an order that is made from them.

A draft is a folder that nobody but its owner can name; what is kept is a folder too, whose `order.toml` and
part files no one changes afterwards. A change is a new version.
"""

from __future__ import annotations

import dataclasses
import json
import os
import re
import secrets
import shutil
import time
from pathlib import Path
from typing import Any

import numpy as np

from sagger import files
from sagger.desk.home import home, ledger
from sagger.desk.orders import named
from sagger.errors import InputError
from sagger.files import lot as lot_file
from sagger.files.parts import ENDINGS
from sagger.goods.good import good
from sagger.ledger import versions
from sagger.views.changes import changes

MOST_BYTES = 256 << 20  # of one file that comes in
MOST_FILES = 100
TAKEN = (*ENDINGS, ".toml", ".csv")
KEPT_S = 7 * 86400.0  # a draft that nobody finished
_TOKEN = re.compile(r"[0-9a-f]{24}")
_STRANGE = re.compile(r"[^\w .+()-]+")


@good
class Came:
    """One file of a draft."""

    name: str
    kind: str  # "STL", …; "order" and "lot" for such files; "" if it was refused
    said: str  # in words: what it holds, or why it was refused
    needs_unit: bool
    size: tuple[float, float, float] | None  # overall, in the file's own unit where it names none, else mm
    triangles: int


def begin() -> str:
    """Name of a new draft; older ones that nobody finished are thrown away."""
    inbox = home() / "inbox"
    inbox.mkdir(parents=True, exist_ok=True)
    for old in inbox.iterdir():
        if _TOKEN.fullmatch(old.name) and time.time() - old.stat().st_mtime > KEPT_S:
            shutil.rmtree(old, ignore_errors=True)
    token = secrets.token_hex(12)
    (inbox / token).mkdir()
    return token


def folder(token: str) -> Path:
    """Where the files of a draft lie; `InputError` if there is none of that name."""
    path = home() / "inbox" / token
    if not _TOKEN.fullmatch(token) or not path.is_dir():
        raise InputError("there is no such draft", remedy="Begin a new order.")
    return path


def place(token: str, name: str) -> Path:
    """Where a file of this name may be put.

    Raises
    ------
    InputError
        If its kind is none that is read, or the draft holds too many.
    """
    bare = _STRANGE.sub("-", name.replace("\\", "/").rpartition("/")[2]).strip(" .-")[-120:]
    ending = Path(bare).suffix.lower()
    if ending not in TAKEN or not Path(bare).stem:
        known = ", ".join(sorted(TAKEN))
        raise InputError("files of this kind are not read here", file=name[:120], remedy=f"Known: {known}.")
    at = folder(token)
    if len(list(at.iterdir())) >= 2 * MOST_FILES:
        raise InputError(f"an order takes at most {MOST_FILES} files", file=name, remedy="Make two orders.")
    return at / bare


def came(token: str) -> list[Came]:
    """The files of a draft by name, each read once."""
    at = folder(token)
    names = (path for path in sorted(at.iterdir()) if path.suffix.lower() in (*ENDINGS, ".toml"))
    return [_seen(path) for path in names]


def drop(token: str, name: str) -> None:
    """Take a file out of a draft."""
    path = folder(token) / Path(name).name
    path.unlink(missing_ok=True)
    _note(path).unlink(missing_ok=True)


def order_in(token: str) -> dict[str, Any] | None:
    """What the order file that came with a draft says, part files by bare names; None without one."""
    sheets = [each.name for each in came(token) if each.kind == "order"]
    if not sheets:
        return None
    return _bare(files.order.tables(folder(token) / sheets[-1]))


def keep(token: str, tables: dict[str, Any], person: str) -> int:
    """Number of the first version of a new order, made from a draft.

    Raises
    ------
    OrderError, CardError
        If something does not fit; the draft stays as it is.
    """
    at = folder(token)
    made = _made(tables, at)
    shutil.rmtree(at, ignore_errors=True)
    return versions.add(ledger(), tables["order"]["name"], made, person)


def change(version: int, tables: dict[str, Any], person: str) -> int:
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
    old = files.order.tables(Path(before["folder"]) / "order.toml")
    new = files.order.checked(tables, "order.toml")
    differs = changes(old, new)
    if not differs:
        raise InputError("nothing differs from the version before", remedy="Change a field first.")
    made = _made(new, Path(before["folder"]))
    return versions.add(book, new["order"]["name"], made, person, version, differs)


def tables(version: int) -> dict[str, Any]:
    """What the order file of a version says."""
    return files.order.tables(Path(versions.one(ledger(), version)["folder"]) / "order.toml")


def _made(tables: dict[str, Any], source: Path) -> Path:
    """A folder of its own with the order file and the part files it names, once they fit."""
    # Names without folders, so that no order reaches for a file that did not come with it.
    bare = _bare(tables)
    orders = home() / "orders"
    aside = orders / f".{secrets.token_hex(6)}"
    aside.mkdir(parents=True)
    try:
        (aside / "order.toml").write_text(files.order.text(bare), "utf-8")
        for name in {*(part["file"] for part in bare["part"]), *_of_lot(bare, source)}:
            if (source / name).is_file():
                os.link(source / name, aside / name)
        named(aside / "order.toml")
        final = orders / aside.name.lstrip(".")
        os.replace(aside, final)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return final


def _of_lot(tables: dict[str, Any], source: Path) -> set[str]:
    """The file of the powder lot, and the tables it may name."""
    lot = tables["cards"].get("lot", "")
    return {lot, *(path.name for path in source.glob("*.csv"))} if lot.endswith(".toml") else set()


def _bare(tables: dict[str, Any]) -> dict[str, Any]:
    """The tables with the names of files, but no folders."""

    def name(path: str) -> str:
        return path.replace("\\", "/").rpartition("/")[2]

    parts = [part | {"file": name(part["file"])} for part in tables.get("part", [])]
    cards = tables["cards"]
    if cards.get("lot", "").endswith(".toml"):
        cards = cards | {"lot": name(cards["lot"])}
    return tables | {"part": parts, "cards": cards}


def _seen(path: Path) -> Came:
    note, stat = _note(path), path.stat()
    stamp = [stat.st_size, stat.st_mtime_ns]
    if note.exists():
        kept = json.loads(note.read_text())
        if kept.pop("stamp") == stamp and kept["kind"]:  # what was refused may wait for a file beside it
            kept["size"] = kept["size"] and tuple(kept["size"])
            return Came(**kept)
    seen = _look(path)
    facts = {field.name: getattr(seen, field.name) for field in dataclasses.fields(Came)}
    note.write_text(json.dumps(facts | {"stamp": stamp}))
    return seen


def _look(path: Path) -> Came:
    try:
        if path.suffix.lower() == ".toml":
            return _sheet(path)
        part = files.read_part(path, assume="mm")
    except InputError as error:
        return Came(name=path.name, kind="", said=str(error), needs_unit=False, size=None, triangles=0)
    extent = np.ptp(part.shape.vertices, axis=0)
    size = (float(extent[0]), float(extent[1]), float(extent[2]))
    count = len(part.shape.triangles)
    needs = part.unit_from == "assumed"
    return Came(name=path.name, kind=part.format, said="", needs_unit=needs, size=size, triangles=count)


def _sheet(path: Path) -> Came:
    """An order file, or the file of a powder lot: it is one that names no order."""
    kind, said = "order", "fills the form"
    if b"[order]" not in path.read_bytes():
        lot = lot_file.read(path)
        kind, said = "lot", f"powder lot {lot.name} of {lot.powder}"
    else:
        files.order.tables(path)
    return Came(name=path.name, kind=kind, said=said, needs_unit=False, size=None, triangles=0)


def _note(path: Path) -> Path:
    return path.with_name(f"{path.name}.seen.json")
