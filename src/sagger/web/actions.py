"""What a button does: asked of the desk aside, so that the page goes on answering; a refusal is shown."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TypeVar

from sagger.errors import SaggerError, not_written
from sagger.web import session, widgets

T = TypeVar("T")


async def run(role: str, deed: Callable[[], T]) -> T | None:
    """What `deed` gave; None after a refusal was shown.

    Parameters
    ----------
    role : str
        What the person must be allowed: look, plan or approve.
    deed : callable
        Called in a thread of its own, where no page is known: whatever it needs of one is read before.
    """
    return await _done(role, deed)


async def run_as(role: str, person: widgets.PersonField, deed: Callable[[str], T]) -> T | None:
    """As `run`, for a deed that is written down with the name of who did it.

    The name is the session's where there are accounts, whatever the browser says.
    """
    try:
        name = person.name()
    except SaggerError as error:
        widgets.refuse(error)
        return None
    return await _done(role, lambda: deed(name))


async def _done(role: str, deed: Callable[[], T]) -> T | None:
    try:
        session.require(role)
        given = await asyncio.to_thread(deed)
    except SaggerError as error:
        widgets.refuse(error)
        return None
    except OSError as error:
        if (told := not_written(error)) is None:
            raise
        widgets.refuse(told)
        return None
    widgets.clear_alerts()
    return given
