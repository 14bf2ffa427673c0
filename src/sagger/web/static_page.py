"""Pages without the toolkit: plain HTML that runs no script."""

from __future__ import annotations

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

_PAGE = Markup(
    """<!doctype html><html lang="en"><meta charset="utf-8"><title>{title} · Sagger</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/bench/bench.css">
<body class="{theme}"><main class="page"><h1>{title}</h1>{body}</main></body></html>"""
)


def static_page(request: Request, title: str, body: Markup, status: int = 200) -> HTMLResponse:
    """A page with a heading, in the theme that the browser remembers."""
    theme = "plain-page body--dark" if request.cookies.get("sagger_theme") == "dark" else "plain-page"
    return HTMLResponse(_PAGE.format(title=title, body=body, theme=theme), status)
