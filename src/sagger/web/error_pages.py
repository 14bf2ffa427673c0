"""What is answered where there is nothing, or where something went wrong: a sentence and a way back."""

from __future__ import annotations

import logging

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from sagger.web.static_page import static_page

LOG = logging.getLogger("sagger.web")
BACK = Markup('<p>{}</p><p><a href="/">To the orders</a></p>')


def register(app: FastAPI) -> None:
    """Have the application answer so."""
    app.exception_handler(404)(_missing)
    app.exception_handler(RequestValidationError)(_wrong_address)
    app.exception_handler(Exception)(_failed)


async def _missing(request: Request, error: Exception) -> Response:
    return _answer(request, "Not found", "There is no such page here.", 404)


async def _wrong_address(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    words = "; ".join(f"{problem['loc'][-1]}: {problem['msg']}" for problem in error.errors())
    return _answer(request, "Not found", f"This address does not say what it must: {words}.", 404)


async def _failed(request: Request, error: Exception) -> Response:
    LOG.exception("%s failed", request.url.path, exc_info=error)
    words = "Something went wrong here, and nothing was changed. The server's log tells what."
    return _answer(request, "Something went wrong", words, 500)


def _answer(request: Request, title: str, words: str, status: int) -> Response:
    if "text/html" in request.headers.get("accept", ""):
        return static_page(request, title, BACK.format(words), status)
    return PlainTextResponse(f"{words}\n", status)
