"""What every page has: the way round, who is here, light or dark, the legend of marks, refusals."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from markupsafe import Markup
from nicegui import app, context, ui

from sagger.desk import people
from sagger.errors import InputError
from sagger.views.wording import NOTICE
from sagger.web import blocks
from sagger.web.doors import Rules, who

PLACES = {
    "/": "Orders",
    "/new": "New order",
    "/cards": "Cards",
    "/readings": "Lots and readings",
    "/factors": "Factors",
}
KEPT = "path=/;max-age=31536000;samesite=strict"
THEMES = {"light": "Light", "dark": "Dark", "auto": "As the system"}
LOOK = "outlined stack-label"  # of fields
_HINTED = re.compile(r"(.*?)(?:,? (such as .*|\(.*\)))?")
# What is typed before the page is connected waits for that; a click must not overtake it.
_IN_TURN = """(event) => {
  const later = () => window.did_handshake ? setTimeout(() => emit(event), 50) : setTimeout(later, 20);
  if (window.did_handshake) emit(event); else later();
}"""
_DARK = {"light": False, "dark": True, "auto": None}


def rules() -> Rules:
    """How the doors of this bench are hung."""
    hung: Rules = app.state.rules
    return hung


def person() -> dict[str, Any]:
    """Name and role of whoever looks at the page; asked anew each time, so that a closed account counts."""
    found = who(context.client.request.headers.get("cookie", ""), rules())
    if found is None:
        raise InputError("your session has ended", remedy="Come in again.")
    return found


def nonce() -> str:
    """The word that a script in this very page must carry, see `nonce`."""
    word: str = context.client.request.state.nonce
    return word


def allowed(role: str) -> dict[str, Any]:
    """The person, if they may do what `role` may; `InputError` otherwise."""
    found = person()
    if not people.may(found["role"], role):
        what = f"your account may {found['role']}, this asks for {role}"
        raise InputError(what, remedy="Ask someone who may.")
    return found


@contextmanager
def page(title: str, *, wide: bool = False) -> Iterator[None]:
    """The frame of a page; what is built inside stands in its middle."""
    here = context.client.request.url.path
    ui.page_title(f"{title} · Sagger")
    ui.add_head_html('<link rel="stylesheet" href="/bench/bench.css">')
    ui.colors(primary="#1a4f9c", negative="#8a1c7c", positive="#1d5a34")
    theme = context.client.request.cookies.get("sagger_theme", "auto")
    theme = theme if theme in THEMES else "auto"
    dark = ui.dark_mode(_DARK[theme])
    ui.html('<a class="skip" href="#middle">To the content</a>', sanitize=False)
    with ui.element("header").classes("top"):
        ui.html(_ways(here), sanitize=False)
        _corner(dark, theme)
    with ui.element("div").props('id="middle" tabindex="-1"').classes("page wide" if wide else "page"):
        board = ui.element("div").props('role="alert"').classes("board")
        context.client.storage["board"] = board
        ui.html(f"<h1>{blocks.safe(title)}</h1>", sanitize=False)
        yield
    with ui.element("footer").classes("foot"):
        ui.html(f"{blocks.legend()}<p>{blocks.safe(NOTICE)}</p>", sanitize=False)


def refused(error: Exception | str) -> None:
    """Show a refusal: what, where, the value, the limit, what to do. It stays until it is read."""
    board: ui.element = context.client.storage["board"]
    board.clear()
    with board:
        ui.html(str(Markup('<p class="said">{}</p>').format(str(error))), sanitize=False)
        button("Read", board.clear)


def told(words: str) -> None:
    """Show that something was done; a refusal before it is over then."""
    context.client.storage["board"].clear()
    ui.notify(words, position="top", timeout=4000, classes="told")


def button(words: str, do: Callable[..., Any], *, solid: bool = False) -> ui.element:
    """A button in the look of the bench."""
    made = ui.element("button").classes("solid" if solid else "plain").props('type="button"')
    made.on("click", do, js_handler=_IN_TURN)
    with made:
        ui.html(str(blocks.safe(words)), sanitize=False, tag="span")
    return made


def show(content: object) -> ui.html:
    """Page text, as `blocks` makes it."""
    return ui.html(str(content), sanitize=False)


def ask(words: str, value: str = "") -> ui.input:
    """A field for text, in the look of the bench; "name, such as this" or "name (why)" has a hint beneath."""
    label, hint = _HINTED.fullmatch(words).groups()  # type: ignore[union-attr]
    made = ui.input(label, value=value).props(LOOK)
    if hint:
        made.props["hint"] = hint.removesuffix(")").removeprefix("(")
    return made


def back(path: str, words: str) -> None:
    """A link to the page that this one belongs to."""
    ui.html(str(blocks.link(path, words)), sanitize=False)


def _ways(here: str) -> str:
    def one(path: str, name: str) -> str:
        at = ' aria-current="page"' if path == here else ""
        return f'<a href="{path}"{at}>{name}</a>'

    places = PLACES | ({"/people": "People"} if rules().accounts() else {})
    links = "".join(one(path, name) for path, name in places.items())
    return f'<a class="mark" href="/">Sagger</a><nav aria-label="Bench">{links}</nav>'


def _corner(dark: ui.dark_mode, theme: str) -> None:
    with ui.element("div").classes("corner"):
        if rules().accounts():
            found = person()
            words = f"{blocks.safe(found['name'])} ({blocks.safe(found['role'])})"
            leave = '<form method="post" action="/leave"><button class="plain">Leave</button></form>'
            ui.html(f"<span>{words}</span>{leave}", sanitize=False).classes("who")
        at = ui.html(THEMES[theme], sanitize=False, tag="span")

        def turn() -> None:
            names = list(THEMES)
            now = names[(names.index(context.client.storage["theme"]) + 1) % len(names)]
            context.client.storage["theme"] = now
            dark.value, at.content = _DARK[now], THEMES[now]
            ui.run_javascript(f"document.cookie = 'sagger_theme={now};{KEPT}'")

        context.client.storage["theme"] = theme
        made = ui.element("button").classes("plain").props('type="button" aria-label="Light or dark"')
        at.move(made)
        made.on("click", turn)
