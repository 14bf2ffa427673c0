"""Addresses of what the pictures are drawn from: forms, places, square cuts of layers.

An address holds the key of what it shows, so its answer never changes and a browser may keep it.
"""

from __future__ import annotations

from collections.abc import Awaitable

from fastapi import APIRouter, Request
from starlette.responses import PlainTextResponse, Response

from sagger.desk.pictures import faces, render, workers
from sagger.errors import SaggerError
from sagger.web import handles
from sagger.web.routes import Number

router = APIRouter()
CACHED = {"cache-control": "private, max-age=31536000, immutable"}


@router.get("/api/box/{key}/pieces.json")
async def pieces(key: str, cured: str = "") -> Response:
    """What is known of each piece; not cached, for the map of the bed may change."""
    return await _answer(
        workers.ask("shapes", render.box_document, key, cured), "application/json", cached=False
    )


@router.get("/api/box/{key}/density.svg")
async def density(key: str) -> Response:
    """Green density over the bed; not cached, as the map may change."""
    return await _answer(workers.ask("shapes", render.box_density, key), "image/svg+xml", cached=False)


@router.get("/api/box/{key}/places.bin")
async def places(key: str) -> Response:
    """Where each piece lies."""
    return await _answer(workers.ask("shapes", render.box_places, key))


@router.get("/api/box/{key}/forms/{most}.bin")
async def box_forms(key: str, most: Number) -> Response:
    """All parts of a box, each in about so many triangles at most; 0 = all."""
    return await _answer(workers.ask("shapes", render.box_forms, key, most))


@router.get("/api/box/{key}/form/{part}.bin")
async def box_form(key: str, part: Number) -> Response:
    """One part of a box with all its triangles."""
    return await _answer(workers.ask("shapes", render.box_form, key, part))


@router.get("/api/part/{key}/form/{most}.bin")
async def part_form(key: str, most: Number) -> Response:
    """A part as it was looked at."""
    return await _answer(workers.ask("shapes", render.part_form, key, most))


@router.get("/api/drawn/{handle}/form/{most}.bin")
async def drawn_form(handle: str, most: Number, request: Request) -> Response:
    """A part that a page of this person shows, by the name that the page was given for it; not cached."""
    source = handles.part(handle, request.state.person.name)
    if source is None:
        return PlainTextResponse("there is no such thing here\n", 404)
    return await _answer(workers.ask("faces", faces.form, source, most), cached=False)


@router.get("/api/green/{key}/maps.bin")
async def part_maps(key: str) -> Response:
    """A part as it comes out of the furnace, point by point."""
    return await _answer(workers.ask("shapes", render.part_maps, key))


@router.get("/api/box/{key}/layer/{layer}/{level}/{column}/{row}.bin")
async def cut(key: str, layer: Number, level: Number, column: Number, row: Number) -> Response:
    """A square cut of a layer, counted from 1: a byte a pixel, packed once by the workers."""
    answer = await _answer(workers.ask("layers", render.layer_tile, key, layer - 1, level, column, row))
    if answer.status_code == 200:
        answer.headers["content-encoding"] = "deflate"
    return answer


async def _answer(
    asked: Awaitable[bytes], media: str = "application/octet-stream", *, cached: bool = True
) -> Response:
    try:
        content = await asked
    except SaggerError as error:
        return PlainTextResponse(f"{error}\n", 404)
    return Response(content, media_type=media, headers=CACHED if cached else None)
