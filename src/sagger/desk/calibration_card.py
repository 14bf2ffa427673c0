"""Figures of a calibration as a card writes them, and the shop's own card that keeps them."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Sequence
from pathlib import Path

from sagger.desk import own_cards

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
    names = ", ".join(each.name for each in tables if each is not None)
    title = f"Calibration from {names}, evaluated {datetime.date.today().isoformat()}"
    source = own_cards.Own(key=key(tables), title=title, seen="tables")
    return own_cards.put("powder", powder, figures, source, within="sintering")
