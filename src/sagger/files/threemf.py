"""3MF, core specification: part files in, the nested box out."""

from __future__ import annotations

import struct
import zipfile
import zlib
from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import IO
from xml.parsers import expat

import numpy as np
from numpy import ndarray

from sagger.errors import PartFileError
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
MATERIAL = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
UNDERSTOOD = (
    CORE,
    PRODUCTION,
    MATERIAL,
)  # extensions whose absence does not change a shape, or that are read
UNITS = {  # 3MF core 1.4.0, <model unit=…>: our word, and millimetres in one
    "micron": ("um", 0.001),
    "millimeter": ("mm", 1.0),
    "centimeter": ("cm", 10.0),
    "inch": ("in", 25.4),
    "foot": ("ft", 304.8),
    "meter": ("m", 1000.0),
}
MOST_ENTRIES = 10_000
MOST_UNPACKED = 1 << 30  # bytes, all entries together
MOST_RATIO = 300  # unpacked over packed, of entries above 1 MiB
MOST_TRIANGLES = 4_000_000
MOST_PLACED = 100_000  # objects, components in components included
BLOCK = 1 << 16
UNREADABLE = (
    *(zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, EOFError, OSError),
    *(NotImplementedError, RuntimeError, UnicodeError, struct.error),
)  # what a package that was changed on its way comes to


@dataclass(slots=True)
class _Body:
    kind: str
    numbers: array[float] = field(default_factory=lambda: array("d"))
    corners: array[int] = field(default_factory=lambda: array("q"))
    components: list[tuple[str, str, ndarray]] = field(default_factory=list)  # model part, object, transform


@dataclass(slots=True)
class _Model:
    unit: str = "millimeter"
    bodies: dict[str, _Body] = field(default_factory=dict)
    items: list[tuple[str, str, ndarray]] = field(default_factory=list)


def read(path: Path) -> tuple[Shape, str]:
    """All solids that the file's build places, merged, in mm; and the file's unit.

    Raises
    ------
    PartFileError
        If the package is damaged or hostile, needs an extension that is not read, or places nothing.
    """
    with _package(path) as package:
        start = _start(package, path.name)
        models = {start: _model(package, start, path.name)}
        word = models[start].unit
        if word not in UNITS:
            raise _refused(path.name, "unknown unit", value=word, remedy=f"Known: {', '.join(UNITS)}.")
        solids = list(_placements(package, models, start, path.name))
    if not solids:
        raise _refused(path.name, "its build places no solid", remedy="Export the part with a build item.")
    unit, factor = UNITS[word]
    return mesh.welded(mesh.mapped(mesh.merged(solids), np.eye(3) * factor)), unit


def objects(path: Path) -> tuple[dict[str, Shape], list[tuple[str, ndarray]]]:
    """Meshes of the start part by object number, as they stand there, and the items of its build.

    Returns
    -------
    tuple of dict and list
        Shapes [mm]; object and transform float64 (4, 3), for row vectors, of each item in order.

    Raises
    ------
    PartFileError
        As `read`.
    """
    plain = np.eye(4)[:, :3]
    with _package(path) as package:
        start = _start(package, path.name)
        model = _model(package, start, path.name)
    if model.unit not in UNITS:
        raise _refused(path.name, "unknown unit", value=model.unit, remedy=f"Known: {', '.join(UNITS)}.")
    factor = UNITS[model.unit][1]
    shapes = {
        number: mesh.mapped(_placed(body, plain, f"object {number}", path.name), np.eye(3) * factor)
        for number, body in model.bodies.items()
        if body.corners
    }
    return shapes, [(number, transform) for _, number, transform in model.items]


def _refused(name: str, what: str, *, field: str = "", value: object = "", remedy: str = "") -> PartFileError:
    return PartFileError(what, file=name, field=field, value=value, remedy=remedy or "Export the part again.")


def _package(path: Path) -> zipfile.ZipFile:
    """The opened zip, after its table of contents has been looked at."""
    try:
        package = zipfile.ZipFile(path)
    except UNREADABLE:
        raise _refused(path.name, "the package cannot be opened") from None
    entries = package.infolist()
    if len(entries) > MOST_ENTRIES:
        raise _refused(path.name, f"{len(entries)} entries, at most {MOST_ENTRIES} are taken")
    total = sum(entry.file_size for entry in entries)
    if total > MOST_UNPACKED:
        raise _refused(path.name, f"it would unpack to {total / 2**20:.0f} MiB, at most 1024 MiB are taken")
    for entry in entries:
        parts = PurePosixPath(entry.filename).parts
        if ".." in parts or entry.filename.startswith("/") or "\\" in entry.filename or ":" in entry.filename:
            raise _refused(path.name, "an entry points outside the package", value=entry.filename)
        ratio = entry.file_size / max(1, entry.compress_size)
        if entry.file_size > 2**20 and ratio > MOST_RATIO:
            what = f"an entry unpacks to {ratio:.0f} times its size, at most {MOST_RATIO} are taken"
            raise _refused(path.name, what, value=entry.filename)
        if entry.flag_bits & 1:
            raise _refused(path.name, "an entry is encrypted", value=entry.filename, remedy="Export without.")
    return package


def _parse(package: zipfile.ZipFile, part: str, name: str, parser: expat.XMLParserType) -> None:
    """Feed one XML part to a parser that refuses document types and entities."""
    parser.StartDoctypeDeclHandler = _no_doctype
    parser.buffer_text = True
    if part not in package.NameToInfo:
        raise _refused(name, "a part of the package is missing", value=part)
    try:
        with package.open(part) as stream:
            _feed(stream, parser)
    except expat.ExpatError as error:
        raise _refused(name, "its XML is broken", field=f"{part}, line {error.lineno}") from None
    except _Doctype:
        raise _refused(name, "a document type declaration is not allowed in 3MF", field=part) from None
    except UNREADABLE:
        raise _refused(name, "an entry cannot be unpacked", field=part) from None


class _Doctype(Exception):
    pass


def _no_doctype(*_: object) -> None:
    raise _Doctype


def _feed(stream: IO[bytes], parser: expat.XMLParserType) -> None:
    size = 0
    while block := stream.read(BLOCK):
        size += len(block)
        if size > MOST_UNPACKED:
            raise zipfile.BadZipFile("larger than its table of contents says")
        parser.Parse(block, False)
    parser.Parse(b"", True)


def _start(package: zipfile.ZipFile, name: str) -> str:
    """Name of the model part at which the package starts."""
    targets: list[str] = []

    def begin(tag: str, given: dict[str, str]) -> None:
        if tag.endswith(" Relationship") and given.get("Type") == START_PART:
            targets.append(given.get("Target", "").lstrip("/"))

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = begin
    _parse(package, "_rels/.rels", name, parser)
    if len(targets) != 1:
        raise _refused(name, f"{len(targets)} start parts are named, there must be one", field="_rels/.rels")
    return targets[0]


def _model(package: zipfile.ZipFile, part: str, name: str) -> _Model:
    """One model part, read."""
    model = _Model()
    spaces: dict[str, str] = {}
    bodies: list[_Body] = []
    heard: dict[str, Callable[[dict[str, str]], None]] = {
        f"{CORE} vertex": lambda given: bodies[-1].numbers.extend([float(given[axis]) for axis in "xyz"]),
        f"{CORE} triangle": lambda given: bodies[-1].corners.extend([int(given[f"v{k}"]) for k in (1, 2, 3)]),
        f"{CORE} component": lambda given: bodies[-1].components.append(_reference(given)),
        f"{CORE} item": lambda given: model.items.append(_reference(given)),
    }

    def begin(tag: str, given: dict[str, str]) -> None:
        if tag in heard:
            heard[tag](given)
        elif tag == f"{CORE} object":
            bodies.append(_Body(kind=given.get("type", "model")))
            model.bodies[given["id"]] = bodies[-1]
        elif tag == f"{CORE} model":
            model.unit = given.get("unit", "millimeter")
            _understood(given.get("requiredextensions", ""), spaces, name)

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartNamespaceDeclHandler = lambda prefix, uri: spaces.__setitem__(prefix or "", uri)
    parser.StartElementHandler = begin
    try:
        _parse(package, part, name, parser)
    except KeyError as error:
        raise _refused(name, "an element lacks an attribute", field=part, value=error.args[0]) from None
    except (ValueError, OverflowError):
        raise _refused(
            name, "an attribute is no number", field=f"{part}, line {parser.CurrentLineNumber}"
        ) from None
    except IndexError:
        raise _refused(name, "a mesh stands outside an object", field=part) from None
    return model


def _reference(given: dict[str, str]) -> tuple[str, str, ndarray]:
    """Model part, object and transform (4, 3), which acts on row vectors."""
    text = given.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()
    if len(text) != 12:
        raise ValueError(f"a transform has 12 numbers, not {len(text)}")
    transform = np.array([float(number) for number in text]).reshape(4, 3)
    return given.get(f"{PRODUCTION} path", "").lstrip("/"), given["objectid"], transform


def _understood(required: str, spaces: dict[str, str], name: str) -> None:
    for prefix in required.split():
        if spaces.get(prefix, prefix) not in UNDERSTOOD:
            what = "the file says it cannot be understood without an extension that is not read"
            raise _refused(name, what, value=spaces.get(prefix, prefix), remedy="Export plain 3MF or STEP.")


def _placements(
    package: zipfile.ZipFile, models: dict[str, _Model], start: str, name: str
) -> Iterator[Shape]:
    """The placed solids of all build items and their components."""
    waiting = [(part or start, number, transform) for part, number, transform in models[start].items][::-1]
    visits = triangles = 0
    while waiting:
        part, number, transform = waiting.pop()
        body = _body(package, models, part, number, name)
        visits += 1
        triangles += len(body.corners) // 3
        if visits > MOST_PLACED or triangles > MOST_TRIANGLES:
            what = f"it places more than {MOST_PLACED} objects or {MOST_TRIANGLES} triangles"
            raise _refused(name, what, remedy="Export it coarser, or one part a file.")
        if body.corners:
            yield _placed(body, transform, f"{part}, object {number}", name)
        for inner_part, inner, matrix in body.components[::-1]:
            joined = np.vstack([matrix[:3] @ transform[:3], matrix[3] @ transform[:3] + transform[3]])
            waiting.append((inner_part or part, inner, joined))


def _body(package: zipfile.ZipFile, models: dict[str, _Model], part: str, number: str, name: str) -> _Body:
    """An object of a model part, which is read when it is first asked for."""
    if part not in models:
        models[part] = _model(package, part, name)
    body = models[part].bodies.get(number)
    if body is None:
        raise _refused(name, "an object is placed that does not exist", field=part, value=number)
    if body.kind not in ("model", "solidsupport"):
        what = f"an object of type {body.kind!r} is placed, which is no solid"
        raise _refused(name, what, field=part, value=number, remedy="Export the solid only.")
    return body


def _placed(body: _Body, transform: ndarray, place: str, name: str) -> Shape:
    vertices = np.frombuffer(body.numbers, dtype=np.float64).reshape(-1, 3)
    triangles = np.frombuffer(body.corners, dtype=np.int64).reshape(-1, 3)
    if triangles.min() < 0 or triangles.max() >= len(vertices):
        what = f"a triangle names vertex {triangles.max()}, there are {len(vertices)}"
        raise _refused(name, what, field=place)
    moved = mesh.mapped(mesh.shape(vertices, triangles), transform[:3].T)
    return mesh.shape(moved.vertices + transform[3], moved.triangles)
