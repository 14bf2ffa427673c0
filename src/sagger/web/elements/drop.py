"""A field onto which files are dropped, with the progress of each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui


class Drop(ui.element, component="drop.js"):
    """Sends each file as it is to `url` + name, one after the other.

    Parameters
    ----------
    url : str
        Where to; the file's name is appended.
    words : str
        What the field asks for.
    accept : sequence of str
        Endings offered by the file dialog.
    most : int
        Bytes of one file; larger ones are refused before they are sent.
    on_came : callable
        Called with the name once a file has arrived whole.
    on_refused : callable
        Called with a sentence if it was refused.
    """

    def __init__(
        self,
        url: str,
        words: str,
        accept: tuple[str, ...],
        most: int,
        *,
        on_came: Callable[[str], Any],
        on_refused: Callable[[str], Any],
    ):
        super().__init__()
        self._props |= {"url": url, "words": words, "accept": ",".join(accept), "most": most}
        self.on("came", lambda event: on_came(event.args))
        self.on("refused", lambda event: on_refused(event.args))
