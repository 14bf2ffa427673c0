"""Drawing the layers of a box into a folder, so that a run that was killed goes on at the last whole layer.

`manifest.jsonl` says what the folder holds: first what was drawn, then a line per layer once its file is
whole.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

import numpy as np

from sagger.errors import InputError
from sagger.files import tiff
from sagger.goods.good import digest
from sagger.goods.head import Head
from sagger.goods.stack import Stack, Tally
from sagger.line import Draw
from sagger.stations import layers
from sagger.tick import Tick, silent

MANIFEST = "manifest.jsonl"


def drawing(into: Path, head: Head, *, tick: Tick = silent) -> Draw:
    """A draw for the line: draws each layer of a stack once, writes it below `into`, and counts it."""

    def draw(stack: Stack) -> Tally:
        folder = box_folder(into, stack.layout.number) / "layers"
        what = {"stack": digest(stack), "edition": layers.EDITION, "head": digest(head)}
        kept = _kept(folder, what)
        with _manifest(folder, what, kept) as manifest:
            for line in _drawn(stack, head, folder, len(kept), tick):
                manifest.write(json.dumps(line) + "\n")
                manifest.flush()
                kept.append(line)
        return _tally(kept)

    return draw


def box_folder(into: Path, number: int) -> Path:
    """Where the results of box `number` go: the first lies in `into` itself."""
    return into if number == 1 else into / f"box-{number}"


def file_name(layer: int) -> str:
    """Name of the file of layer `layer` (from 0); people count from 1."""
    return f"{layer + 1:05d}.tif"


def write_whole(path: Path, content: bytes) -> None:
    """Write a file aside and rename it, so that it is there whole or not at all."""
    aside = path.with_name(path.name + ".part")
    path.parent.mkdir(parents=True, exist_ok=True)
    aside.write_bytes(content)
    os.replace(aside, path)


def _drawn(stack: Stack, head: Head, folder: Path, first: int, tick: Tick) -> Iterator[dict[str, Any]]:
    def finish(layer: int, sheet: layers.Sheet) -> bytes:
        return tiff.encode(
            sheet.runs, pitch_mm=stack.pitch_mm, polarity=head.polarity, text=f"layer {layer + 1}"
        )

    for layer, sheet, content in layers.each(stack, finish, first=first, tick=tick):
        write_whole(folder / file_name(layer), content)
        yield {
            "file": file_name(layer),
            "bytes": len(content),
            "digest": _digest(content),
            "drops": int(sheet.drops),
            "section_mm2": float(sheet.section_mm2),
            "leaks": int(sheet.leaks),
            "bridges": int(sheet.bridges),
            "runs": sheet.digest,
        }


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
            (folder / line["file"]).unlink(missing_ok=True)
        return []
    kept = []
    for layer, line in enumerate(lines[1:]):
        if line["file"] != file_name(layer) or not _whole(folder, line):
            break
        kept.append(line)
    return kept


def _read(text: str) -> dict[str, Any] | None:
    try:
        line: dict[str, Any] = json.loads(text)
    except json.JSONDecodeError:  # the line during which the earlier run was killed
        return None
    return line


def _whole(folder: Path, line: dict[str, Any]) -> bool:
    path = folder / line["file"]
    if not path.exists() or path.stat().st_size != line["bytes"]:
        return False
    return bool(_digest(path.read_bytes()) == line["digest"])


def _manifest(folder: Path, what: dict[str, str], kept: list[dict[str, Any]]) -> TextIO:
    folder.mkdir(parents=True, exist_ok=True)
    head = "".join(json.dumps(line) + "\n" for line in (what, *kept))
    write_whole(folder / MANIFEST, head.encode())
    return (folder / MANIFEST).open("a")


def _digest(content: bytes) -> str:
    return hashlib.blake2b(content, digest_size=16).hexdigest()


def _tally(lines: list[dict[str, Any]]) -> Tally:
    state = hashlib.sha256()
    for line in lines:
        state.update(line["runs"].encode())
    return Tally(
        drops=np.array([line["drops"] for line in lines], np.int64),
        section_mm2=np.array([line["section_mm2"] for line in lines], np.float64),
        leaks=sum(line["leaks"] for line in lines),
        bridges=sum(line["bridges"] for line in lines),
        digest=state.hexdigest()[:32],
    )
