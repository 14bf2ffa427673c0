"""What every page has: navigation, account, theme, alerts, and the legend of marks."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from nicegui import context, ui

from sagger.views.wording import NOTICE
from sagger.web import events, markup, session, widgets
from sagger.web.security import LOGOUT

NAVIGATION = {
    "/": "Orders",
    "/new": "New order",
    "/cell": "Cell",
    "/cards": "Cards",
    "/readings": "Lots and readings",
    "/factors": "Factors",
    "/people": "People",
}
THEMES = {"light": "Light", "dark": "Dark", "auto": "As the system"}
THEME_COOKIE = "path=/;max-age=31536000;samesite=strict"
_DARK = {"light": False, "dark": True, "auto": None}


@contextmanager
def page(title: str, *, wide: bool = False, legend: bool = False) -> Iterator[None]:
    """The frame of a page; what is built inside stands in its middle.

    `legend` says what the marks on figures mean, below.
    """
    ui.page_title(f"{title} · Sagger")
    ui.add_head_html('<link rel="stylesheet" href="/bench/bench.css">')
    ui.colors(primary="#1a4f9c", negative="#8a1c7c", positive="#1d5a34")
    ui.html('<a class="skip" href="#middle">To the content</a>', sanitize=False)
    with ui.element("header").classes("top"):
        ui.html(_navigation(context.client.request.url.path), sanitize=False)
        with ui.element("div").classes("corner"):
            _account()
            _theme_button()
    with ui.element("div").props('id="middle" tabindex="-1"').classes("page wide" if wide else "page"):
        widgets.alerts()
        ui.html(f"<h1>{markup.safe(title)}</h1>", sanitize=False)
        yield
    with ui.element("footer").classes("foot"):
        ui.html(f"{markup.legend() if legend else ''}<p>{markup.safe(NOTICE)}</p>", sanitize=False)


def _navigation(here: str) -> str:
    links = "".join(
        f'<a href="{path}"{" aria-current=page" if path == here else ""}>{name}</a>'
        for path, name in NAVIGATION.items()
    )
    return f'<a class="mark" href="/">Sagger</a><nav aria-label="Bench">{links}</nav>'


def _account() -> None:
    """Who is signed in, and the way out; nothing where there are no accounts."""
    if session.rules().accounts():
        present = session.person()
        name = f"{markup.safe(present.name)} ({markup.safe(present.role)})"
        button = f'<form method="post" action="{LOGOUT}"><button class="plain">Sign out</button></form>'
        ui.html(f"<span>{name}</span>{button}", sanitize=False).classes("account")


def _theme_button() -> None:
    wanted = context.client.request.cookies.get("sagger_theme", "auto")
    themes = list(THEMES)
    current = [wanted if wanted in THEMES else "auto"]
    dark = ui.dark_mode(_DARK[current[0]])
    button = ui.element("button").classes("plain").props('type="button" aria-label="Theme"')
    with button:
        shown = ui.html("", sanitize=False, tag="span")

    def show() -> None:
        dark.value = _DARK[current[0]]
        shown.content = f"Theme: {THEMES[current[0]].lower()}"

    def turn(sent: object) -> None:
        current[0] = themes[(themes.index(current[0]) + 1) % len(themes)]
        show()
        ui.run_javascript(f"document.cookie = 'sagger_theme={current[0]};{THEME_COOKIE}'")

    show()
    events.on(button, "click", turn, may="look")
