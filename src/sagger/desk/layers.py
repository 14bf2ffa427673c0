"""Reading an export again: whether the files of a plan's folder would print its parts.

Parts and places come from bed.3mf, lattice and treatment from plan.json, drops from the files. Neither the
ledger nor what drew the layers is asked, so a folder can be checked on another machine.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy import ndarray

from sagger import files
from sagger.desk.export import file_name
from sagger.desk.home import box_folder
from sagger.errors import InputError
from sagger.files import tiff
from sagger.goods.good import good
from sagger.goods.stack import Treatment
from sagger.stations import layers
from sagger.tick import Tick, silent
from sagger.views import reread

_SAME_MM = 1e-6  # plan.json and bed.3mf round in different places
_SAME_PITCH = 1e-4  # of the spacing: a TIFF file gives whole fractions of a dot per inch


@good
class Reread:
    document: dict[str, Any]
    lines: list[str]
    stopped: bool  # something would be printed that is not the part


def read_again(folder: Path, *, every_layer: bool = False, tick: Tick = silent) -> Reread:
    """Every box of a folder that `sagger plan` left, compared with the parts in its places.

    Raises
    ------
    InputError
        If the folder is none of ours, a layer is missing or unreadable, or its papers contradict each other.
    """
    plan = _plan(folder)
    found = []
    for box in plan["boxes"]:
        inside = box_folder(folder, box["number"])
        claim = _claim(plan, box, inside / "bed.3mf")
        images = _images(inside / "layers", claim)
        found.append((box["number"], claim, layers.verify(claim, images, every_layer=every_layer, tick=tick)))
    names = [part["name"] for part in plan["parts"]]
    return Reread(
        document=reread.document(str(folder), found, names),
        lines=[line for each in found for line in reread.lines(*each, names)],
        stopped=any(reread.stops(verdict) for _, _, verdict in found),
    )


def _plan(folder: Path) -> dict[str, Any]:
    path = folder / "plan.json"
    try:
        plan: dict[str, Any] = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError) as error:
        remedy = "Give the folder that `sagger plan --into` left."
        raise InputError(f"there is no plan to read ({error})", file=str(path), remedy=remedy) from None
    if plan.get("schema") != "sagger-plan/1" or plan.get("state") != "planned":
        raise InputError("this is no plan of a whole job", file=str(path), remedy="Plan the order first.")
    if "treatments" not in plan["layers"]:
        what = "this plan is of an edition that does not say how drops were set"
        raise InputError(what, file=str(path), remedy="Plan the order again.")
    return plan


def _claim(plan: dict[str, Any], box: dict[str, Any], bed: Path) -> layers.Claim:
    said = box["layers"]
    treatments = [_treatment(each) for each in said["treatments"]]
    shapes, items = files.read_bed(bed)
    listed = [piece for piece in plan["pieces"] if piece["box"] == box["number"]]
    _refuse_others(listed, items, bed)
    return layers.Claim(
        pitch_mm=(said["pitch_um"][0] / 1e3, said["pitch_um"][1] / 1e3),
        layer_mm=said["thickness_um"] / 1e3,
        count=said["count"],
        columns=said["columns"],
        rows=said["rows"],
        bits=said["bits"],
        missed=tuple(said["missed_rows"]),
        pieces=tuple(
            layers.Claimed(
                part=part,
                number=piece["number"],
                shape=shapes[part],
                placement=placement,
                treatment=treatments[part],
            )
            for piece, (part, placement) in zip(listed, items, strict=True)
        ),
    )


def _treatment(said: dict[str, Any]) -> Treatment:
    return Treatment(
        bleed_mm=said["bleed_um"] / 1e3,
        depth_mm=said["depth_um"] / 1e3,
        skin_mm=said["skin_mm"],
        skin=said["skin_saturation_percent"] / 100,
        core=said["core_saturation_percent"] / 100,
    )


def _refuse_others(listed: list[dict[str, Any]], items: list[tuple[int, ndarray]], bed: Path) -> None:
    """The two papers must speak of the same pieces in the same places."""
    agree = len(listed) == len(items) and all(
        piece["part"] == part and np.abs(np.array(piece["placement"]) - placement).max() <= _SAME_MM
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
            found = tiff.decode(path.read_bytes())
        except OSError as error:
            what = f"a layer's file cannot be read ({error.strerror})"
            raise InputError(what, file=str(path), remedy="Export the layers again.") from None
        form = (found.levels.shape, found.bits)
        if form != ((claim.rows, claim.columns), claim.bits):
            what = f"the plan says {claim.rows} rows, {claim.columns} columns and {claim.bits} bits"
            raise InputError(what, file=str(path), value=form, remedy="Export the layers again.")
        if not np.allclose(found.pitch_mm, claim.pitch_mm, rtol=_SAME_PITCH, atol=0):
            what = "its resolution is not that of the plan"
            raise InputError(what, file=str(path), value=found.pitch_mm, remedy="Export the layers again.")
        yield found.levels
