"""Where the shop's own ledger and cards lie."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from sagger.errors import not_written
from sagger.ledger import Ledger, open_at


def home() -> Path:
    """SAGGER_HOME, or the user's data folder."""
    said = os.environ.get("SAGGER_HOME")
    if said:
        return Path(said).expanduser()
    data = os.environ.get("XDG_DATA_HOME")
    return (Path(data) if data else Path.home() / ".local" / "share") / "sagger"


def card_folders() -> tuple[Path, ...]:
    """Folders in which the shop's own cards override the shipped ones."""
    return (home() / "cards",)


def ledger() -> Ledger:
    """The ledger, opened: the database that SAGGER_LEDGER_URL names, or a file in the shop's folder."""
    return open_at(home(), os.environ.get("SAGGER_LEDGER_URL", ""))


def box_folder(into: Path, number: int) -> Path:
    """Where the results of box `number` go: the first lies in `into` itself."""
    return into if number == 1 else into / f"box-{number}"


def write_whole(path: Path, content: bytes) -> None:
    """Write a file aside and rename it, so that it is there whole or not at all.

    Raises
    ------
    DiskError
        If the disk is full, or the place is not ours to write.
    """
    aside = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(content)
        os.replace(aside, path)
    except OSError as error:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
        raise not_written(error, path) or error from error
