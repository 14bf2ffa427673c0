"""Figures of a calibration as a card writes them, and the shop's own card that keeps them."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from sagger.desk.cards import own_cards
from sagger.desk.cards.own_cards import CardFigure

Tables = Sequence[Path | None]


def figure(value: float, u: float, unit: str, where: str, source: str) -> CardFigure:
    """A measured figure; no `u` if it has none."""
    return CardFigure(f"{value:.5g} {unit}", source, where, u=f"{u:.2g} {unit}" if u else "")


def key(tables: Tables) -> str:
    """Name of the tables among the sources: by their content."""
    state = hashlib.blake2b(digest_size=6)
    for path in tables:
        state.update(path.read_bytes() if path is not None else b"")
    return f"calibration-{state.hexdigest()}"


def write(powder: str, figures: Mapping[str, CardFigure], tables: Tables) -> Path:
    """Write the shop's own card: the one in use with these figures, the tables among the sources."""
    names = ", ".join(path.name for path in tables if path is not None)
    title = f"Calibration from {names}, evaluated {datetime.date.today().isoformat()}"
    source = own_cards.OwnSource(key=key(tables), title=title, seen="tables")
    return own_cards.put("powder", powder, figures, source, within="sintering")
