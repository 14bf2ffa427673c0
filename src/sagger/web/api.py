"""Addresses that answer with files and data rather than pages."""

from __future__ import annotations

import os
import secrets
from typing import Any

from fastapi import APIRouter, Request
from starlette.requests import ClientDisconnect
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse

from sagger.desk import bundle, drafts, history, people
from sagger.errors import InputError, LedgerError

router = APIRouter()


@router.post("/api/inbox/{draft}/{name}")
async def take_file(draft: str, name: str, request: Request) -> Response:
    """A file for a draft, as it is; it is there whole or not at all."""
    # Another site's page cannot send this header without being asked first.
    if request.headers.get("x-sagger") != "1":
        return PlainTextResponse("refused: files come through the field of the page\n", 403)
    if not people.may(request.state.person["role"], "plan"):
        return PlainTextResponse("refused: your account may not bring files\n", 403)
    try:
        path = drafts.place(draft, name)
    except InputError as error:
        return PlainTextResponse(str(error), 422)
    aside = path.with_name(f".{secrets.token_hex(6)}.part")
    try:
        with aside.open("wb") as out:
            async for chunk in request.stream():
                out.write(chunk)
        os.replace(aside, path)
    except ClientDisconnect:
        return PlainTextResponse(
            f"{name}: it broke off, or is larger than {drafts.MOST_BYTES >> 20} MiB", 413
        )
    finally:
        aside.unlink(missing_ok=True)
    return PlainTextResponse(path.name)


@router.get("/api/job/{job}")
def job_facts(job: int) -> Response:
    """How far a job is."""
    row = _or_none(lambda: history.facts(job))
    if row is None:
        return _missing()
    facts = ("id", "name", "state", "step", "doing", "done", "total", "message", "began", "ended", "version")
    return JSONResponse({fact: row[fact] for fact in facts})


@router.get("/api/job/{job}/plan.json")
def job_plan(job: int) -> Response:
    """The plan of a job, as plan.json holds it."""
    plan = _or_none(lambda: history.plan(job))
    return JSONResponse(plan) if plan else _missing()


@router.get("/files/job/{job}/{name}")
def job_file(job: int, name: str) -> Response:
    """A file of the first box: traveller.pdf, traveller.html, bed.3mf, plan.json, layers.zip."""
    return job_file_of_box(job, 1, name)


@router.get("/files/job/{job}/box/{box}/{name}")
def job_file_of_box(job: int, box: int, name: str) -> Response:
    """A file of one box."""
    found = _or_none(lambda: bundle.file(job, box, name))
    if found is None:
        return _missing()
    path, title = found
    if name == "layers.zip":
        head = {"content-disposition": f'attachment; filename="{title}"', "content-encoding": "identity"}
        return StreamingResponse(bundle.zipped(path), media_type="application/zip", headers=head)
    as_page = name.endswith(".html")
    kind = "inline" if as_page else "attachment"
    return FileResponse(path, filename=title, content_disposition_type=kind)


def _or_none(ask: Any) -> Any:
    try:
        return ask()
    except (LedgerError, InputError):
        return None


def _missing() -> Response:
    return PlainTextResponse("there is no such thing here\n", 404)
