"""Drawing the layers of a box into a folder, so that a run that was killed goes on at the last whole layer.

`manifest.jsonl` says what the folder holds: first what was drawn, then a line per layer once its files are
whole.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TextIO

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
        what = {"stack": digest(stack), "edition": layers.EDITION, "head": digest(head)}
        what["compression"] = compression
        kept = _kept(folder, what)
        encode = _encoder(stack, head, compression)
        with _manifest(folder, what, kept) as manifest:
            for line in _drawn(stack, encode, folder, len(kept), tick):
                manifest.write(json.dumps(line) + "\n")
                manifest.flush()
                kept.append(line)
        return layers.tally(_count(line) for line in kept)

    return draw


def file_name(layer: int) -> str:
    """Name of the file of layer `layer` (from 0); people count from 1."""
    return f"{layer + 1:05d}.tif"


def pass_name(layer: int, number: int) -> str:
    """Name of the file of a pass (from 0) of a layer."""
    return f"{PASSES}/{layer + 1:05d}-{number + 1:02d}.tif"


def _encoder(stack: Stack, head: Head, compression: str) -> Callable[[int, layers.Sheet], Contents]:
    """What makes the files of a layer: one of the whole, and one of each pass if the head asks for them."""
    form: dict[str, Any] = {
        "pitch_mm": stack.pitch_mm,
        "polarity": head.polarity,
        "compression": compression,
        "first_row": head.first_row,
    }
    planned = layers.passes(stack, head) if head.pass_images else ()
    alive = layers.served(planned, frozenset(head.dead_nozzles), stack.rows) if planned else None

    def encode(layer: int, sheet: layers.Sheet) -> Contents:
        name = f"layer {layer + 1}"
        made = [(file_name(layer), tiff.encode_sheet(sheet, text=name, **form))]
        for number, one in enumerate(planned):
            assert alive is not None
            text = (
                f"{name}, pass {number + 1} of {len(planned)}: one row a nozzle; nozzle n, from 0 at low y, "
            )
            text += f"prints row {one.first} + {one.step} n of the layer"
            image = layers.pass_sheet(sheet, one, alive)
            made.append((pass_name(layer, number), tiff.encode_sheet(image, text=text, **form)))
        return made

    return encode


def _drawn(
    stack: Stack, encode: Callable[[int, layers.Sheet], Contents], folder: Path, first: int, tick: Tick
) -> Iterator[dict[str, Any]]:
    for _, count, contents in layers.each(stack, encode, first=first, tick=tick):
        for name, content in contents:
            write_whole(folder / name, content)
        yield {
            "files": [[name, len(content), _digest(content)] for name, content in contents],
            "drops": count.levels,
            "classes": [[each.share, each.places, each.drops] for each in count.classes],
            "section_mm2": count.section_mm2,
            "leaks": count.leaks,
            "bridges": count.bridges,
            "longest_bridge_mm": count.longest_mm,
            "lost": count.lost,
            "digest": count.digest,
            "rows": count.rows,
        }


def _count(line: dict[str, Any]) -> layers.Count:
    return layers.Count(
        levels=tuple(line["drops"]),
        classes=tuple(DropClass(share=s, places=places, drops=drops) for s, places, drops in line["classes"]),
        section_mm2=line["section_mm2"],
        leaks=line["leaks"],
        bridges=line["bridges"],
        longest_mm=line["longest_bridge_mm"],
        lost=line["lost"],
        digest=line["digest"],
        rows=tuple(line["rows"]),
    )


def _kept(folder: Path, what: dict[str, str]) -> list[dict[str, Any]]:
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
    lines = [line for line in map(_read, path.read_text().splitlines()) if line]
    if not lines or lines[0] != what:
        for line in lines[1:]:
            for name in _names(line):
                (folder / name).unlink(missing_ok=True)
        return []
    kept = []
    for layer, line in enumerate(lines[1:]):
        if _names(line)[0] != file_name(layer) or not _whole(folder, line):
            break
        kept.append(line)
    return kept


def _names(line: dict[str, Any]) -> list[str]:
    # Editions before the second wrote one file a line.
    return [name for name, _, _ in line["files"]] if "files" in line else [line["file"]]


def _read(text: str) -> dict[str, Any] | None:
    try:
        line: dict[str, Any] = json.loads(text)
    except json.JSONDecodeError:  # the line during which the earlier run was killed
        return None
    return line


def _whole(folder: Path, line: dict[str, Any]) -> bool:
    for name, size, name_of_content in line["files"]:
        path = folder / name
        if not path.exists() or path.stat().st_size != size:
            return False
        if _digest(path.read_bytes()) != name_of_content:
            return False
    return True


def _manifest(folder: Path, what: dict[str, str], kept: list[dict[str, Any]]) -> TextIO:
    folder.mkdir(parents=True, exist_ok=True)
    head = "".join(json.dumps(line) + "\n" for line in (what, *kept))
    write_whole(folder / MANIFEST, head.encode())
    return (folder / MANIFEST).open("a")


def _digest(content: bytes) -> str:
    return hashlib.blake2b(content, digest_size=16).hexdigest()
