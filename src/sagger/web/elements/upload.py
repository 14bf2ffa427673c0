"""A field onto which files are dropped, with the progress of each."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from nicegui import ui

from sagger.web import events

LONGEST = 500  # characters of a refusal that the browser shows


class FilesTaken(NamedTuple):
    """Which files may be dropped."""

    endings: tuple[str, ...]  # offered by the file dialog
    most: int  # bytes of one file; larger ones are refused before they are sent


class Upload(ui.element, component="upload.js"):
    """Sends each file as it is to `url` + name, one after the other.

    Parameters
    ----------
    url : str
        Where to; the file's name is appended.
    words : str
        What the field asks for.
    taken : FilesTaken
    on_uploaded : callable
        Called with the name once a file is there whole, as the browser has it from the server.
    on_refused : callable
        Called with a sentence if it was refused.
    """

    def __init__(
        self,
        url: str,
        words: str,
        taken: FilesTaken,
        *,
        on_uploaded: Callable[[str], object],
        on_refused: Callable[[str], object],
    ):
        super().__init__()
        self._props |= {"url": url, "words": words, "accept": ",".join(taken.endings), "most": taken.most}
        events.on(self, "uploaded", lambda name: on_uploaded(str(name)), may="plan")
        events.on(self, "refused", lambda words: on_refused(str(words)[:LONGEST]), may="look")
