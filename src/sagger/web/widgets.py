"""Fields, buttons and alerts in the look of the bench."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from markupsafe import Markup
from nicegui import context, ui
from nicegui.elements.mixins.value_element import ValueElement
from nicegui.events import ValueChangeEventArguments

from sagger.web import events, markup, session

Field = ValueElement[Any]  # whatever is typed or chosen in it
Change = ValueChangeEventArguments[Any]
FIELD = "outlined stack-label"  # look of a field
_HINTED = re.compile(r"(.*?)(?:,? (such as .*|\(.*\)))?")
# What is typed before the page is connected waits for that; a click must not be sent before it. What a socket
# lost stands in its field all the same: so fields say again what they hold before a click is sent.
_AFTER_TYPING = """(event) => {
  const send = () => {
    for (const id of Object.keys(mounted_app.elements)) {
      const field = getElement(id);
      if (field && typeof field.inputValue === "string") field.$emit("update:value", field.inputValue);
    }
    emit(event);
  };
  const later = () => window.did_handshake ? setTimeout(send, 50) : setTimeout(later, 20);
  if (window.did_handshake) send(); else later();
}"""
_ALERTS = "alerts"  # where a page keeps the place of its alerts


def html(content: object) -> ui.html:
    """Page text, as `markup` makes it."""
    return ui.html(str(content), sanitize=False)


def link(path: str, words: object, kind: str = "") -> None:
    """A link to another page of the bench."""
    html(markup.link(path, words, kind))


def button(words: str, act: Callable[[], object], *, may: str, solid: bool = False) -> ui.element:
    """A button for those who may; `solid` for what the page is there for.

    A second click while it is at work does nothing.
    """
    made = ui.element("button").classes("solid" if solid else "plain").props('type="button"')
    at_work: list[bool] = []

    async def once(sent: object) -> None:
        if at_work:
            return
        at_work.append(True)
        try:
            result = act()
            if inspect.isawaitable(result):
                await result
        finally:
            at_work.clear()

    events.on(made, "click", once, may=may, js_handler=_AFTER_TYPING)
    with made:
        ui.html(str(markup.safe(words)), sanitize=False, tag="span")
    return made


def text_field(words: str, value: str = "") -> ui.input:
    """A field for text; "name, such as this" or "name (why)" has a hint beneath."""
    label, hint = _HINTED.fullmatch(words).groups()  # type: ignore[union-attr]
    made = ui.input(label, value=value).props(FIELD)
    if hint:
        made.props["hint"] = hint.removesuffix(")").removeprefix("(")
    return made


def choice(
    options: Sequence[str] | Mapping[str, str] | Mapping[object, str], value: object, label: str
) -> ui.select:
    """A field for one of several."""
    known = dict(options) if isinstance(options, Mapping) else list(options)
    return ui.select(known, value=value, label=label).props(FIELD)


class PersonField:
    """Shows who does something. What a browser sends for it counts only where there are no accounts."""

    def __init__(self, words: str):
        name = session.account_name()
        self._field = text_field(words, name)
        if name:
            self._field.props("readonly")

    def name(self) -> str:
        """The account that is signed in now; without accounts, the name that was typed."""
        return session.account_name() if session.rules().accounts() else stripped(self._field)


def person_field(words: str) -> PersonField:
    """A field for who does it: the account that is signed in, or a name to be typed."""
    return PersonField(words)


def stripped(field: Field) -> str:
    """What a field says, without blanks around it."""
    return str(field.value or "").strip()


def alerts() -> None:
    """The place where this page shows refusals."""
    context.client.storage[_ALERTS] = ui.element("div").props('role="alert"').classes("board")
    context.client.storage[events.REFUSE] = refuse


def refuse(error: Exception | str) -> None:
    """Show a refusal: what, where, the value, the limit, what to do. It stays until it is read."""
    board: ui.element = context.client.storage[_ALERTS]
    board.clear()
    with board:
        html(Markup('<p class="said">{}</p>').format(str(error)))
        button("Read", board.clear, may="look")


def clear_alerts() -> None:
    """Take a refusal away that no longer holds."""
    context.client.storage[_ALERTS].clear()


def notify(words: str) -> None:
    """Show that something was done; a refusal before it no longer holds."""
    clear_alerts()
    ui.notify(words, position="top", timeout=4000, classes="notice")
