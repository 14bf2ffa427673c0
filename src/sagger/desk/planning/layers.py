"""Reading an export again: whether the files of a plan's folder would print its parts.

Parts and places come from bed.3mf, lattice and treatment from plan.json, drops from the files. Neither the
ledger nor what drew the layers is asked, so a folder can be checked on another machine.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy import ndarray

from sagger import files
from sagger.desk.home import box_folder
from sagger.desk.planning.export import file_name
from sagger.errors import InputError
from sagger.files import tiff
from sagger.goods.good import good
from sagger.goods.plain import restored
from sagger.goods.planned import PlanBox, PlanPiece, PlanTreatment, WholePlan
from sagger.goods.stack import Treatment
from sagger.stations import layers
from sagger.tick import Tick, silent
from sagger.views.words import reread
from sagger.views.words.reread import RereadDocument

_SAME_MM = 1e-6  # plan.json and bed.3mf round in different places
_SAME_PITCH = 1e-4  # of the spacing: a TIFF file gives whole fractions of a dot per inch


@good
class Reread:
    document: RereadDocument
    lines: list[str]
    stopped: bool  # something would be printed that is not the part


def read_again(folder: str | Path, *, every_layer: bool = False, tick: Tick = silent) -> Reread:
    """Every box of a folder that `plan` left, read from its files and compared with the parts in its places.

    Parameters
    ----------
    folder : str or Path
        As `plan` left it; it may have come from another machine.
    every_layer : bool
        Compare the outlines of every layer, not of two dozen.
    tick : Tick
        Hears how far it is, and may say stop.

    Raises
    ------
    InputError
        If the folder is none of ours, a layer is missing or unreadable, or its papers contradict each other.
    """
    folder = Path(folder)
    plan = _plan(folder)
    boxes = []
    for box in plan.boxes:
        inside = box_folder(folder, box.number)
        claim = _claim(plan, box, inside / "bed.3mf")
        images = _images(inside / "layers", claim)
        boxes.append((box.number, claim, layers.verify(claim, images, every_layer=every_layer, tick=tick)))
    names = [part.name for part in plan.parts]
    return Reread(
        document=reread.document(str(folder), boxes, names),
        lines=[line for reread_box in boxes for line in reread.lines(*reread_box, names)],
        stopped=any(reread.stops(verdict) for _, _, verdict in boxes),
    )


def _plan(folder: Path) -> WholePlan:
    path = folder / "plan.json"
    try:
        document = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        remedy = "Give the folder that `sagger plan --into` left."
        raise InputError("there is no plan to read", file=str(path), remedy=remedy) from None
    ours = isinstance(document, dict) and document.get("schema") == "sagger-plan/1"
    if not ours or document.get("state") != "planned":
        raise InputError("this is no plan of a whole job", file=str(path), remedy="Plan the order first.")
    try:
        return restored(WholePlan, document)
    except ValueError as error:
        what = f"this plan is of an edition that said less ({error})"
        raise InputError(what, file=str(path), remedy="Plan the order again.") from None


def _claim(plan: WholePlan, box: PlanBox, bed: Path) -> layers.Claim:
    drawn = box.layers
    treatments = [_treatment(each) for each in drawn.treatments]
    shapes, items = files.read_bed(bed)
    listed = [piece for piece in plan.pieces if piece.box == box.number]
    _refuse_others(listed, items, bed)
    return layers.Claim(
        pitch_mm=(drawn.pitch_um[0] / 1e3, drawn.pitch_um[1] / 1e3),
        layer_mm=drawn.thickness_um / 1e3,
        count=drawn.count,
        columns=drawn.columns,
        rows=drawn.rows,
        bits=drawn.bits,
        missed=drawn.missed_rows,
        pieces=tuple(
            layers.Claimed(
                part=part,
                number=piece.number,
                shape=shapes[part],
                placement=placement,
                treatment=treatments[part],
            )
            for piece, (part, placement) in zip(listed, items, strict=True)
        ),
    )


def _treatment(planned: PlanTreatment) -> Treatment:
    return Treatment(
        bleed_mm=planned.bleed_um / 1e3,
        depth_mm=planned.depth_um / 1e3,
        skin_mm=planned.skin_mm,
        skin=planned.skin_saturation_percent / 100,
        core=planned.core_saturation_percent / 100,
    )


def _refuse_others(listed: list[PlanPiece], items: list[tuple[int, ndarray]], bed: Path) -> None:
    """The two papers must speak of the same pieces in the same places."""
    agree = len(listed) == len(items) and all(
        piece.part == part and np.abs(np.array(piece.placement) - placement).max() <= _SAME_MM
        for piece, (part, placement) in zip(listed, items, strict=True)
    )
    if not agree:
        what = "it holds other pieces or places than plan.json"
        raise InputError(what, file=str(bed), remedy="Plan the order again into an empty folder.")


def _images(folder: Path, claim: layers.Claim) -> Iterator[ndarray]:
    """Levels of each layer, row 0 at low y."""
    for k in range(claim.count):
        path = folder / file_name(k)
        try:
            image = tiff.decode(path.read_bytes())
        except OSError as error:
            fault = f"a layer's file cannot be read ({error.strerror})"
            raise InputError(fault, file=str(path), remedy="Export the layers again.") from None
        size = (image.levels.shape, image.bits)
        if size != ((claim.rows, claim.columns), claim.bits):
            fault = f"the plan says {claim.rows} rows, {claim.columns} columns and {claim.bits} bits"
            raise InputError(fault, file=str(path), value=size, remedy="Export the layers again.")
        if not np.allclose(image.pitch_mm, claim.pitch_mm, rtol=_SAME_PITCH, atol=0):
            fault = "its resolution is not that of the plan"
            raise InputError(fault, file=str(path), value=image.pitch_mm, remedy="Export the layers again.")
        yield image.levels
