"""Drawing the layers of a box into a folder, so that a run that was killed goes on at the last whole layer.

`manifest.jsonl` says what the folder holds: first what was drawn, then a line per layer once its files are
whole.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple, TextIO

from sagger.desk.home import box_folder, write_whole
from sagger.errors import InputError
from sagger.files import tiff
from sagger.goods.good import digest
from sagger.goods.head import Head
from sagger.goods.stack import DropClass, Stack, Tally
from sagger.line import Draw
from sagger.stations import layers
from sagger.tick import Tick, silent

MANIFEST = "manifest.jsonl"
PASSES = "passes"  # folder beside the layers

Contents = list[tuple[str, bytes]]  # file names below the folder, and what they hold


class Subject(NamedTuple):
    """What a folder of layers was drawn from: the first line of its manifest."""

    stack: str  # digest
    edition: str
    head: str  # digest
    compression: str


class Written(NamedTuple):
    """A file of a layer."""

    name: str
    size: int  # bytes
    digest: str


class LayerLine(NamedTuple):
    """A layer whose files are whole: what they are, and what was counted while it was drawn."""

    files: list[Written]
    drops: list[int]
    classes: list[tuple[float, int, int | None]]  # share, places, drops
    section_mm2: float
    leaks: int
    bridges: int
    longest_bridge_mm: float
    lost: int
    digest: str
    rows: tuple[int, int]


def drawing(into: Path, head: Head, compression: str = "", *, tick: Tick = silent) -> Draw:
    """A draw for the line: draws each layer of a stack once, writes it below `into`, and counts it.

    Parameters
    ----------
    into : Path
        Folder of results.
    head : Head
        Says polarity, which row is first, and whether each pass gets an image of its own.
    compression : str
        Of the files; "" = by content.
    """

    def draw(stack: Stack) -> Tally:
        folder = box_folder(into, stack.layout.number) / "layers"
        subject = Subject(digest(stack), layers.EDITION, digest(head), compression)
        whole = _kept(folder, subject)
        encode = _encoder(stack, head, compression)
        with _manifest(folder, subject, whole) as manifest:
            for line in _drawn(stack, encode, folder, len(whole), tick):
                manifest.write(_text(line))
                manifest.flush()
                whole.append(line)
        return layers.tally(_count(line) for line in whole)

    return draw


def file_name(layer: int) -> str:
    """Name of the file of layer `layer` (from 0); people count from 1."""
    return f"{layer + 1:05d}.tif"


def pass_name(layer: int, number: int) -> str:
    """Name of the file of a pass (from 0) of a layer."""
    return f"{PASSES}/{layer + 1:05d}-{number + 1:02d}.tif"


def _encoder(stack: Stack, head: Head, compression: str) -> Callable[[int, layers.Sheet], Contents]:
    """What makes the files of a layer: one of the whole, and one of each pass if the head asks for them."""
    layer_form = tiff.LayerForm(stack.pitch_mm, head.polarity, compression, head.first_row)
    planned = layers.passes(stack, head) if head.pass_images else ()
    alive = layers.served(planned, frozenset(head.dead_nozzles), stack.rows) if planned else None

    def encode(layer: int, sheet: layers.Sheet) -> Contents:
        name = f"layer {layer + 1}"
        made = [(file_name(layer), tiff.encode_sheet(sheet, layer_form._replace(text=name)))]
        for number, one in enumerate(planned):
            assert alive is not None
            text = (
                f"{name}, pass {number + 1} of {len(planned)}: one row a nozzle; nozzle n, from 0 at low y, "
            )
            text += f"prints row {one.first} + {one.step} n of the layer"
            image = layers.pass_sheet(sheet, one, alive)
            made.append((pass_name(layer, number), tiff.encode_sheet(image, layer_form._replace(text=text))))
        return made

    return encode


def _drawn(
    stack: Stack, encode: Callable[[int, layers.Sheet], Contents], folder: Path, first: int, tick: Tick
) -> Iterator[LayerLine]:
    for _, count, contents in layers.drawn(stack, encode, first=first, tick=tick):
        for name, content in contents:
            write_whole(folder / name, content)
        yield LayerLine(
            files=[Written(name, len(content), _digest(content)) for name, content in contents],
            drops=list(count.levels),
            classes=[(of_share.share, of_share.places, of_share.drops) for of_share in count.classes],
            section_mm2=count.section_mm2,
            leaks=count.leaks,
            bridges=count.bridges,
            longest_bridge_mm=count.longest_mm,
            lost=count.lost,
            digest=count.digest,
            rows=count.rows,
        )


def _count(line: LayerLine) -> layers.Count:
    return layers.Count(
        levels=tuple(line.drops),
        classes=tuple(DropClass(share=s, places=places, drops=drops) for s, places, drops in line.classes),
        section_mm2=line.section_mm2,
        leaks=line.leaks,
        bridges=line.bridges,
        longest_mm=line.longest_bridge_mm,
        lost=line.lost,
        digest=line.digest,
        rows=line.rows,
    )


def _kept(folder: Path, subject: Subject) -> list[LayerLine]:
    """The layers of an earlier run of the same drawing that are whole, in order from the first."""
    path = folder / MANIFEST
    if not path.exists():
        if folder.exists() and any(folder.iterdir()):
            raise InputError(
                "the folder for the layers holds files that are not ours",
                file=str(folder),
                remedy="Give another folder with --into, or empty this one.",
            )
        return []
    first, *others = path.read_text().splitlines() or [""]
    lines = [line for line in map(_read, others) if line is not None]
    if first + "\n" != _text(subject):
        for line in lines:
            for written in line.files:
                (folder / written.name).unlink(missing_ok=True)
        return []
    whole = []
    for layer, line in enumerate(lines):
        if line.files[0].name != file_name(layer) or not all(_whole(folder, each) for each in line.files):
            break
        whole.append(line)
    return whole


def _text(line: Subject | LayerLine) -> str:
    return json.dumps(line._asdict()) + "\n"


def _read(text: str) -> LayerLine | None:
    """A layer's line; None if the earlier run was killed while it wrote it."""
    try:
        line = LayerLine(**json.loads(text))
    except (json.JSONDecodeError, TypeError):
        return None
    return line._replace(
        files=[Written(*written) for written in line.files], rows=(line.rows[0], line.rows[1])
    )


def _whole(folder: Path, written: Written) -> bool:
    path = folder / written.name
    if not path.exists() or path.stat().st_size != written.size:
        return False
    return _digest(path.read_bytes()) == written.digest


def _manifest(folder: Path, subject: Subject, kept: list[LayerLine]) -> TextIO:
    folder.mkdir(parents=True, exist_ok=True)
    head = _text(subject) + "".join(_text(line) for line in kept)
    write_whole(folder / MANIFEST, head.encode())
    return (folder / MANIFEST).open("a")


def _digest(content: bytes) -> str:
    return hashlib.blake2b(content, digest_size=16).hexdigest()
