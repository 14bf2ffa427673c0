"""From one part that is asked for to the bodies of its file: one, a chosen one, or all."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from sagger import files
from sagger.desk.planning.limits import with_classes
from sagger.errors import PartFileError
from sagger.files.parts import chosen, offered
from sagger.files.reading import CHORD_MM, SECONDS, Wish
from sagger.goods.order import Request
from sagger.goods.shape import PartFile

ALL = "all"


def parts(path: Path, request: Request, order: str, *, bare: bool) -> list[tuple[Request, PartFile]]:
    """The bodies of a part file with what is asked of each; bodies are never joined.

    Parameters
    ----------
    path : Path
        The part file.
    request : Request
        Names a body, "all", or none.
    order : str
        Name of the order's file, for what is refused.
    bare : bool
        Whether there is no order file: then all bodies are taken unless one is named.

    Raises
    ------
    PartFileError
        If the file is refused, holds no such body, or holds several and the order does not say which.
    """
    wish = Wish(request.chord_mm or CHORD_MM, request.reading_s or SECONDS)
    read = tuple(map(_classed, files.read_parts(path, request.unit, assume="mm" if bare else "", wish=wish)))
    if len(read) == 1 and request.body in ("", ALL):
        return [(dataclasses.replace(request, body=""), read[0])]
    if request.body == ALL or (bare and not request.body):
        return [(_of(request, part), part) for part in read]
    if request.body:
        return [(request, chosen(read, request.body))]
    what = f"{path.name} holds {len(read)} bodies: {offered(read)}"
    remedy = f'Say which, body = "{read[0].body}", or body = "{ALL}" to make each a part of the order.'
    raise PartFileError(what, file=order, field="body", remedy=remedy)


def _classed(part: PartFile) -> PartFile:
    """The part, its drawing with the limits of the classes that it names."""
    if part.drawing is None:
        return part
    return dataclasses.replace(part, drawing=with_classes(part.drawing))


def _of(request: Request, part: PartFile) -> Request:
    """What is asked of one body of all."""
    return dataclasses.replace(
        request,
        name=f"{request.name} {part.body}",
        body=part.body,
        quantity=request.quantity * part.copies,
    )
