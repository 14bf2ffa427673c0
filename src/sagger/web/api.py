"""Addresses that answer with files and data rather than pages."""

from __future__ import annotations

import asyncio
import os
import secrets
from collections.abc import Callable
from typing import TypeVar

from fastapi import APIRouter, Request
from starlette.requests import ClientDisconnect
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    Response,
    StreamingResponse,
)

from sagger.desk import people, uploads
from sagger.desk.measuring import certifying
from sagger.desk.planning import bundle, cell_sheets, history, offers
from sagger.errors import InputError, LedgerError
from sagger.web.routes import Number

router = APIRouter()
PAPERS = {"offer": offers.sheet, "certificate": certifying.sheet}
T = TypeVar("T")


@router.post("/api/uploads/{draft}/{name}")
async def upload(draft: str, name: str, request: Request) -> Response:
    """Store an uploaded file for a draft, as it is; it is there whole or not at all."""
    # Another site's page cannot send this header without being asked first.
    if request.headers.get("x-sagger") != "1":
        return PlainTextResponse("refused: files come through the field of the page\n", 403)
    if not people.may(request.state.person.role, "plan"):
        return PlainTextResponse("refused: your account may not bring files\n", 403)
    person = request.state.person.name
    try:
        path = await asyncio.to_thread(uploads.place, draft, name, person)
        room = await asyncio.to_thread(uploads.room, draft, person)
    except InputError as error:
        return PlainTextResponse(str(error), 422)
    aside = path.with_name(f".{secrets.token_hex(6)}{uploads.ASIDE}")
    try:
        with aside.open("wb") as out:
            async for chunk in request.stream():
                room -= len(chunk)
                if room < 0:
                    return PlainTextResponse(
                        f"{name[:120]}: there is no room for more; see docs/bench.md", 413
                    )
                out.write(chunk)
        os.replace(aside, path)
    except ClientDisconnect:
        wrong = f"{name[:120]}: it broke off, or is larger than {uploads.MOST_BYTES >> 20} MiB"
        return PlainTextResponse(wrong, 413)
    except OSError:
        wrong = f"{name[:120]}: it cannot be kept here; is the disk full? Nothing of it was kept."
        return PlainTextResponse(wrong, 507)
    finally:
        aside.unlink(missing_ok=True)
    return PlainTextResponse(path.name)


@router.get("/api/job/{job}")
def job_facts(job: Number) -> Response:
    """How far a job is."""
    row = _if_there(lambda: history.facts(job))
    if row is None:
        return _missing()
    facts = ("id", "name", "state", "step", "doing", "done", "total", "message", "began", "ended", "version")
    return JSONResponse({fact: getattr(row, fact) for fact in facts})


@router.get("/api/job/{job}/plan.json")
def job_plan(job: Number) -> Response:
    """The plan of a job, as plan.json holds it."""
    plan = _if_there(lambda: history.plan_text(job))
    return Response(plan, media_type="application/json") if plan else _missing()


@router.get("/files/job/{job}/{name}")
def job_file(job: Number, name: str) -> Response:
    """A file of the first box: traveller.pdf, traveller.html, bed.3mf, plan.json, layers.zip; or a paper."""
    kind, _, form = name.partition(".")
    if kind in PAPERS and form in ("pdf", "html"):
        return _paper(job, kind, form)
    return job_file_of_box(job, 1, name)


def _paper(job: int, kind: str, suffix: str) -> Response:
    """An offer or a certificate, made as it is asked for: it carries today's date."""
    sheet = _if_there(lambda: PAPERS[kind](job))
    if sheet is None:
        return _missing()
    page, pdf = sheet
    if suffix == "html":
        return HTMLResponse(page)
    head = {"content-disposition": f'attachment; filename="{kind}-job{job}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=head)


@router.get("/files/job/{job}/box/{box}/{name}")
def job_file_of_box(job: Number, box: Number, name: str) -> Response:
    """A file of one box."""
    there = _if_there(lambda: bundle.file(job, box, name))
    if there is None:
        return _missing()
    path, title = there
    if name == bundle.LAYERS:
        head = {"content-disposition": f'attachment; filename="{title}"', "content-encoding": "identity"}
        return StreamingResponse(bundle.zipped(path), media_type="application/zip", headers=head)
    kind = "inline" if name.endswith(".html") else "attachment"
    return FileResponse(path, filename=title, content_disposition_type=kind)


@router.get("/files/cell/calendar.ics")
def cell_calendar(person: str = "") -> Response:
    """What people of the cell do, for their calendars."""
    made = _if_there(lambda: cell_sheets.calendar(person))
    if made is None:
        return _missing()
    head = {"content-disposition": 'attachment; filename="cell.ics"'}
    return Response(made, media_type="text/calendar; charset=utf-8", headers=head)


@router.get("/files/cell/day/{name}")
def cell_day(name: str) -> Response:
    """What each station of the cell does on a day, a page a station: 2030-01-31.pdf or .html."""
    day, _, kind = name.partition(".")
    papers = _if_there(lambda: cell_sheets.day_papers(day)) if kind in ("pdf", "html") else None
    if papers is None:
        return _missing()
    page, pdf = papers
    if kind == "html":
        return HTMLResponse(page)
    head = {"content-disposition": f'attachment; filename="day-{day}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=head)


def _if_there(ask: Callable[[], T]) -> T | None:
    try:
        return ask()
    except (LedgerError, InputError):
        return None


def _missing() -> Response:
    return PlainTextResponse("there is no such thing here\n", 404)
