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

    Raises
    ------
    CardError
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
