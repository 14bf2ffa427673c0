"""The shop's own cards: a card's figures one by one, and changing one on a copy of one's own."""

from __future__ import annotations

import datetime
import json
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from sagger import cards
from sagger.cards.place import near
from sagger.cards.read import KINDS, SHIPPED, open_table, read_sources
from sagger.desk.home import card_folders, write_whole
from sagger.errors import CardError, InputError
from sagger.files import toml
from sagger.goods import plain
from sagger.goods.figure import STANDINGS
from sagger.goods.good import good
from sagger.goods.powder import Powder

FIGURE = ("value", "range", "u", "source", "where", "standing")  # what a figure may say


@good
class Entry:
    """One line of a card: a figure with what stands behind it, or a plain word."""

    path: str  # "sintering.programme.1.rate"
    parts: tuple[tuple[str, str], ...]  # what it says, by part; a plain word has the one part "value"
    figure: bool


@good
class Source:
    """Where figures may come from."""

    key: str
    text: str


class CardFigure(NamedTuple):
    """A figure as a card writes it."""

    value: str  # with its unit
    source: str
    where: str
    u: str = ""  # "" = none
    standing: str = "measured"


@good
class OwnSource:
    """A source of the shop's own: a table or a run that figures were worked from."""

    key: str
    title: str
    seen: str  # what of it was read


def entries(kind: str, name: str) -> list[Entry]:
    """Every line of a card, in its order.

    Raises
    ------
    CardError
        If there is no such kind or card.
    """
    cards.load(kind, name, card_folders())
    return list(_walk(open_table(_file(kind, name)), ()))


def own(kind: str, name: str) -> bool:
    """Whether the shop has a copy of its own of this card."""
    return _own_file(kind, name).is_file()


def sources() -> list[Source]:
    """Every source that a figure may cite."""
    known = read_sources((*card_folders(), SHIPPED))
    return [Source(key=key, text=str(entry.get("title", key))) for key, entry in sorted(known.items())]


def change(kind: str, name: str, path: str, parts: dict[str, str]) -> None:
    """Say something else in one line of a card, on the shop's own copy; the copy before is put aside.

    Parameters
    ----------
    path : str
        Of the line, as in `entries`.
    parts : dict
        Its parts (value, range or u, source, where, standing); empty ones are left out.

    Raises
    ------
    CardError
        If the card would be refused; nothing is changed then.
    """
    known = {entry.path: entry for entry in entries(kind, name)}
    if path not in known:
        raise CardError("the card has no such line", field=path, remedy=near(path, known))
    table = open_table(_file(kind, name))
    _put(table, path.split("."), _entry(known[path], parts))
    _kept_if_it_loads(kind, name, table)


def put(
    kind: str,
    name: str,
    figures: Mapping[str, CardFigure],
    source: OwnSource | None = None,
    *,
    within: str = "",
) -> Path:
    """Put figures on the shop's own copy of a card, in place of those that stand there; says where it lies.

    Parameters
    ----------
    figures : mapping
        Field of the card to its figure.
    source : OwnSource, optional
        What they were worked from, made known with them.
    within : str
        Table of the card that holds the fields, "" = the card itself.

    Raises
    ------
    CardError
        If there is no such card, or it would be refused; nothing is changed then.
    """
    cards.load(kind, name, card_folders())
    table = open_table(_file(kind, name))
    entries: plain.Table = {field: {**written(figure)} for field, figure in figures.items()}
    if within:
        table[within] = plain.table(table, within) | entries
    else:
        table |= entries
    _kept_if_it_loads(kind, name, table, source)
    return _own_file(kind, name)


def without(name: str, source: str) -> Powder:
    """The powder card in use, as it was before figures of this source were kept on it.

    What is worked out from tables may start from the card: the same tables then say the same again.
    """
    own = _own_file("powder", name)
    if not own.is_file() or not _cites(own, source):
        return cards.load("powder", name, card_folders())
    for earlier in sorted((own.parent / "earlier").glob(f"{name}-*.toml"), reverse=True):
        if not _cites(earlier, source):
            with tempfile.TemporaryDirectory(prefix="sagger-") as aside:
                write_whole(Path(aside) / KINDS["powder"][1] / f"{name}.toml", earlier.read_bytes())
                return cards.load("powder", name, (Path(aside), *card_folders()))
    return cards.load("powder", name)


def _cites(path: Path, source: str) -> bool:
    return f'"{source}"' in path.read_text("utf-8")


def written(figure: CardFigure) -> dict[str, str]:
    """The parts of a figure, as a card's file has them."""
    return {part: text for part in FIGURE if (text := getattr(figure, part, ""))}


def fate(kept: Path | None) -> str:
    """Where figures went, in words."""
    return f"kept on {kept}" if kept else "not kept; --keep writes it on the shop's own powder card"


def _kept_if_it_loads(kind: str, name: str, table: plain.Table, source: OwnSource | None = None) -> None:
    text = toml.text(table)
    with tempfile.TemporaryDirectory(prefix="sagger-") as aside:
        trial = Path(aside) / KINDS[kind][1] / f"{name}.toml"
        write_whole(trial, text.encode())
        if source is not None:
            _make_known(source, Path(aside))
        cards.load(kind, name, (Path(aside), *card_folders()))
    if source is not None:
        _make_known(source, card_folders()[0])
    _keep(kind, name, text)


def _make_known(source: OwnSource, folder: Path) -> None:
    path = folder / "sources.toml"
    known = open_table(path) if path.is_file() else {}
    known[source.key] = {"kind": "own", "title": source.title, "seen": source.seen}
    write_whole(path, toml.text(known).encode())


def add_source(key: str, title: str, seen: str) -> None:
    """Make a source known that figures can cite, in the shop's own list.

    Raises
    ------
    InputError
        If the key is no plain word or is taken, or something is missing.
    """
    if not key.isascii() or not key.replace("-", "").isalnum():
        raise InputError("a source's key is letters, digits and dashes", field="key", value=key)
    if key in {source.key for source in sources()}:
        raise InputError("there is a source of this key", field="key", value=key)
    if not title.strip() or not seen.strip():
        raise InputError("a source needs a title, and what of it was read", field="title, seen")
    _make_known(OwnSource(key=key, title=title.strip(), seen=seen.strip()), card_folders()[0])


def _walk(table: object, path: tuple[str, ...]) -> Iterator[Entry]:
    if isinstance(table, dict) and "value" in table:
        parts = tuple((part, str(table[part])) for part in FIGURE if part in table)
        yield Entry(path=".".join(path), parts=parts, figure=True)
    elif isinstance(table, dict):
        for key, value in table.items():
            yield from _walk(value, (*path, key))
    elif isinstance(table, list) and table and isinstance(table[0], dict):
        for number, row in enumerate(table, 1):
            yield from _walk(row, (*path, str(number)))
    else:
        text = table if isinstance(table, str) else json.dumps(table, ensure_ascii=False)
        yield Entry(path=".".join(path), parts=(("value", text),), figure=False)


def _entry(entry: Entry, parts: dict[str, str]) -> plain.Plain:
    """What the TOML file should hold for a line."""
    if entry.figure:
        return {part: text for part in FIGURE if (text := parts.get(part, "").strip())}
    was, text = dict(entry.parts)["value"], parts.get("value", "").strip()
    try:
        before = json.loads(was)
    except json.JSONDecodeError:
        return text  # it was a word, so it stays one
    if isinstance(before, str):
        return text
    try:
        new: plain.Plain = json.loads(text)
        return new
    except json.JSONDecodeError:
        what = "this must be written as it was: a number, true or false, or a list"
        raise CardError(what, field=entry.path, value=text, remedy=f"For instance: {was}") from None


def _put(table: plain.Plain, path: list[str], value: plain.Plain) -> None:
    *way, last = path
    for step in way:
        if isinstance(table, list):
            table = table[int(step) - 1]
        elif isinstance(table, dict):
            table = table[step]
    assert isinstance(table, dict)  # a path comes from `entries`
    table[last] = value


def _keep(kind: str, name: str, text: str) -> None:
    path = _own_file(kind, name)
    if path.is_file() and path.read_bytes() == text.encode():
        return  # said again, after a kill perhaps
    if path.is_file():
        stamp = datetime.datetime.now(datetime.UTC).strftime("%Y%m%dT%H%M%S%f")
        write_whole(path.parent / "earlier" / f"{name}-{stamp}.toml", path.read_bytes())
    write_whole(path, text.encode())


def _own_file(kind: str, name: str) -> Path:
    return card_folders()[0] / KINDS[kind][1] / f"{name}.toml"


def _file(kind: str, name: str) -> Path:
    path = _own_file(kind, name)
    return path if path.is_file() else SHIPPED / KINDS[kind][1] / f"{name}.toml"


__all__ = [
    "FIGURE",
    "STANDINGS",
    "CardFigure",
    "Entry",
    "OwnSource",
    "Source",
    "add_source",
    "change",
    "entries",
    "fate",
    "own",
    "put",
    "sources",
    "written",
]
