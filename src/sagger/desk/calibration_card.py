"""Figures of a calibration as a card writes them, and the shop's own card that keeps them."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Sequence
from pathlib import Path

from sagger.cards.read import KINDS, SHIPPED, open_table
from sagger.desk.home import home, write_whole
from sagger.files import toml

Figure = dict[str, str]
Tables = Sequence[Path | None]


def figure(value: float, u: float, unit: str, where: str, source: str) -> Figure:
    """A measured figure; no `u` if it has none."""
    entry = {"value": f"{value:.5g} {unit}"} | ({"u": f"{u:.2g} {unit}"} if u else {})
    return entry | {"source": source, "where": where, "standing": "measured"}


def key(tables: Tables) -> str:
    """Name of the tables among the sources: by their content."""
    state = hashlib.blake2b(digest_size=6)
    for path in tables:
        state.update(path.read_bytes() if path is not None else b"")
    return f"calibration-{state.hexdigest()}"


def keep(powder: str, figures: dict[str, Figure], tables: Tables) -> Path:
    """Write the shop's own card: the one in use with these figures, the tables among the sources."""
    own, folder = home() / "cards", KINDS["powder"][1]
    path = own / folder / f"{powder}.toml"
    card = open_table(path if path.is_file() else SHIPPED / folder / path.name)
    card["sintering"] = dict(card["sintering"]) | figures
    known = open_table(own / "sources.toml") if (own / "sources.toml").is_file() else {}
    names = ", ".join(each.name for each in tables if each is not None)
    title = f"Calibration from {names}, evaluated {datetime.date.today().isoformat()}"
    known[key(tables)] = {"kind": "own", "title": title, "seen": "tables"}
    write_whole(own / "sources.toml", toml.text(known).encode())
    write_whole(path, toml.text(card).encode())
    return path
