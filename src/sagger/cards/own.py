<<<<<<< HEAD
"""A shop's own card, made from the one in force with some figures put in."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from sagger.cards.read import KINDS, SHIPPED, names
from sagger.errors import CardError


def with_figures(
    kind: str, name: str, figures: Mapping[str, Mapping[str, str]], folders: Iterable[Path], into: Path
) -> Path:
    """Path of the shop's own card, now with these figures.

    Parameters
    ----------
    kind, name : str
        Of the card in force; it is copied into the shop's folder if it is a shipped one.
    figures : mapping
        Field name to the parts of its figure (value, u, source, where, standing). One that stands there is
        replaced, whatever else the card says stays as it is.
    folders : iterable of Path
        Where the shop's own cards lie, see `load`.
    into : Path
        Folder of the shop's own cards.
=======
"""A shop's own card: another one with figures put in their place, every word of the rest as it was."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from sagger.errors import CardError


class Entry(NamedTuple):
    """A figure as a card writes it."""

    value: str  # with its unit
    u: str  # standard uncertainty with its unit, "" if none
    source: str
    where: str
    standing: str


def entry_text(name: str, entry: Entry) -> str:
    """The table of one figure, such as [sintering.debind_energy]."""
    u = f"u = {_quoted(entry.u)}\n" if entry.u else ""
    return (
        f"[{name}]\nvalue = {_quoted(entry.value)}\n{u}source = {_quoted(entry.source)}\n"
        f"where = {_quoted(entry.where)}\nstanding = {_quoted(entry.standing)}\n"
    )


def replaced(text: str, entries: Mapping[str, Entry]) -> str:
    """The text of a card with these figures in place of its own.
>>>>>>> e295a20 (A thermobalance's table gives the burnout figures of an own powder card, with uncertainty and what speaks against one step)

    Raises
    ------
    CardError
<<<<<<< HEAD
        If there is no such card.
    """
    roots = (*folders, SHIPPED)
    if name not in names(kind, roots):
        raise CardError(f"no {kind} card has this name", field=kind, value=name)
    folder = KINDS[kind][1]
    found = next(path for root in roots if (path := root / folder / f"{name}.toml").is_file())
    text = found.read_text(encoding="utf-8")
    for field, parts in figures.items():
        block = f"[{field}]\n" + "".join(f'{part} = "{words}"\n' for part, words in parts.items())
        text = re.sub(rf"(?ms)^\[{field}\]\n.*?(?=^\[|\Z)", "", text)
        # Before the first table of tables, where a plain table may still stand.
        at = re.search(r"(?m)^\[", text)
        text = f"{text[: at.start()]}{block}\n{text[at.start() :]}" if at else f"{text}\n{block}"
    path = into / folder / f"{name}.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(path.name + ".part")
    aside.write_text(text, encoding="utf-8")
    os.replace(aside, path)
    return path
=======
        If the card does not write a figure as a table of its own.
    """
    for name, entry in entries.items():
        pattern = rf"^\[{re.escape(name)}\]\n(?:(?!\[).*\n?)*?(?=^\s*$|\Z|^\[)"
        found = re.search(pattern, text, flags=re.MULTILINE)
        if found is None:
            raise CardError("the card has no such table", field=name, remedy=f"Write [{name}] in it first.")
        text = text[: found.start()] + entry_text(name, entry) + text[found.end() :]
    return text


def source_text(key: str, title: str, seen: str) -> str:
    """An entry of sources.toml for what the shop measured itself."""
    return f'[{key}]\nkind = "own"\ntitle = {_quoted(title)}\nseen = {_quoted(seen)}\n'


def _quoted(text: str) -> str:
    plain = " ".join(text.split()).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'
>>>>>>> e295a20 (A thermobalance's table gives the burnout figures of an own powder card, with uncertainty and what speaks against one step)
