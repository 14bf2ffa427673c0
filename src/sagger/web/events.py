"""What a browser may send to a page, and who may send it: an event without a role is not heard.

A page's buttons are no fence: whoever may look can send any event of the page by hand, to any handler, at any
time. So the role stands where the event is heard, and nowhere else can an event be attached.
"""

from __future__ import annotations

import inspect
import logging
from collections.abc import Callable
from typing import Any
from weakref import WeakKeyDictionary

from nicegui import Client, context, ui

from sagger.desk.people import ROLES
from sagger.errors import SaggerError
from sagger.web import session

LOG = logging.getLogger("sagger.web")
REFUSE = "refuse"  # where a page keeps what shows a refusal
PLAIN = "(...args) => emit(...args)"  # what the toolkit sends by itself
TYPED = "update:"  # events by which the toolkit's own fields say what is typed; nothing is done by them
OWN = {"Select": ("popupShow", "popupHide"), "Number": ("blur",)}  # of the toolkit's fields, by their kind
UNHEARD = ("sub_pages_open", "sub_pages_navigate")  # of a kind of page that the bench does not have
_RULES: WeakKeyDictionary[ui.element, dict[str, str]] = WeakKeyDictionary()
Heard = Callable[..., object]


def on(element: ui.element, event: str, heard: Heard, *, may: str, js_handler: str | None = None) -> None:
    """Hear an event of an element from those who may.

    Parameters
    ----------
    event : str
        Such as "click".
    heard : callable
        Called with what the browser sent; may be awaited.
    may : str
        Role that is needed: look, plan or approve.
    js_handler : str, optional
        What the browser does before it sends.
    """
    if may not in ROLES:
        raise ValueError(f"{may!r} is no role")
    _RULES.setdefault(element, {})[event] = may

    async def guarded(sent: Any) -> None:
        try:
            session.require(may)
        except SaggerError as error:
            context.client.storage.get(REFUSE, ui.notify)(str(error))
            return
        result = heard(sent.args)
        if inspect.isawaitable(result):
            await result

    element.on(event, guarded, js_handler=js_handler or PLAIN)


def rule(element: ui.element, event: str) -> str | None:
    """Role that an event needs; None if it has no rule and is not heard."""
    own = event.startswith(TYPED) or event in OWN.get(type(element).__name__, ())
    return "look" if own else _RULES.get(element, {}).get(event)


def fence() -> None:
    """Have the toolkit drop what has no rule, whatever a browser sends."""
    plain = Client.handle_event

    def fenced(client: Client, message: dict[str, Any]) -> None:
        element = client.elements.get(message.get("id", -1))
        listeners = getattr(element, "_event_listeners", {})
        listener = listeners.get(message.get("listener_id"))
        if element is None or listener is None or rule(element, listener.type) is None:
            if listener is None or listener.type not in UNHEARD:
                LOG.warning("an event without a rule was not heard: %.80r", message.get("listener_id"))
            return
        plain(client, message)

    if not getattr(plain, "fenced", False):
        fenced.fenced = True  # type: ignore[attr-defined]
        setattr(Client, "handle_event", fenced)  # noqa: B010  # the toolkit has no door for this
