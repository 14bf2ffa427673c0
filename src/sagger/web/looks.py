"""Addresses of what the pictures are drawn from: forms, places, square cuts of layers.

An address holds the key of what it shows, so its answer never changes and a browser may keep it.
"""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import PlainTextResponse, Response

from sagger.desk import painter
from sagger.errors import SaggerError

router = APIRouter()
_KEPT = {"cache-control": "private, max-age=31536000, immutable"}


@router.get("/api/box/{key}/pieces.json")
async def pieces(key: str, cured: str = "") -> Response:
    """What is known of each piece; not kept, for the map of the bed may change."""
    return await _answer("shapes", "application/json", "box_document", key, cured, kept=False)


@router.get("/api/box/{key}/density.svg")
async def density(key: str) -> Response:
    """Green density over the bed; not kept, as the map may change."""
    return await _answer("shapes", "image/svg+xml", "box_density", key, kept=False)


@router.get("/api/box/{key}/places.bin")
async def places(key: str) -> Response:
    """Where each piece lies."""
    return await _answer("shapes", "application/octet-stream", "box_places", key)


@router.get("/api/box/{key}/forms/{most}.bin")
async def box_forms(key: str, most: int) -> Response:
    """All parts of a box, each in about so many triangles at most; 0 = all."""
    return await _answer("shapes", "application/octet-stream", "box_forms", key, most)


@router.get("/api/box/{key}/form/{part}.bin")
async def box_form(key: str, part: int) -> Response:
    """One part of a box with all its triangles."""
    return await _answer("shapes", "application/octet-stream", "box_form", key, part)


@router.get("/api/part/{key}/form/{most}.bin")
async def part_form(key: str, most: int) -> Response:
    """A part as it was looked at."""
    return await _answer("shapes", "application/octet-stream", "part_form", key, most)


@router.get("/api/green/{key}/maps.bin")
async def part_maps(key: str) -> Response:
    """A part as it comes out of the furnace, point by point."""
    return await _answer("shapes", "application/octet-stream", "part_maps", key)


@router.get("/api/box/{key}/layer/{layer}/{level}/{column}/{row}.bin")
async def cut(key: str, layer: int, level: int, column: int, row: int) -> Response:
    """A square cut of a layer, counted from 1: a byte a pixel, packed once by the painter."""
    given = (key, layer - 1, level, column, row)
    answer = await _answer("layers", "application/octet-stream", "layer_tile", *given)
    if answer.status_code == 200:
        answer.headers["content-encoding"] = "deflate"
    return answer


async def _answer(crew: str, kind: str, what: str, *given: object, kept: bool = True) -> Response:
    try:
        made = await painter.ask(crew, what, *given)
    except SaggerError as error:
        return PlainTextResponse(f"{error}\n", 404)
    return Response(made, media_type=kind, headers=_KEPT if kept else None)
