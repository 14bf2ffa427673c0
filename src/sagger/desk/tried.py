"""Work that a page waits for: what another programme would do, what readings say, which cut packs closer.

Runs in a process of `painter`: a furnace run takes half a second, a box in the oven several.
"""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

from sagger.desk import blending, history, learning
from sagger.desk.orders import named
from sagger.desk.pictures import kept, outputs
from sagger.errors import InputError
from sagger.goods.bed import Bed
from sagger.goods.cell import Cell
from sagger.goods.dose import Dose
from sagger.goods.finding import Finding
from sagger.goods.layout import Layout
from sagger.stations import cure, sinter
from sagger.views.plan.fill_cure import cure_out
from sagger.views.plan.fill_outcome import sinter_out


def furnace_tried(job: int, said: str) -> bytes:
    """The furnace run of a job under other order tables (JSON): `sinter` as in plan.json, and `findings`.

    Parts keep the size, and the bending against sag, that they were planned with.
    """
    cell = _cell(job, said)
    bed = kept(outputs(job, "bed.spread")[0], Bed)
    greens = kept(outputs(job, "layers.settled")[0], Layout).greens
    doses = tuple(kept(key, Dose) for key in outputs(job, "dosing.plan"))
    if cell.furnace is None or cell.powder.sintering is None or bed.powder.sintering is None:
        raise InputError("this job is not fired")
    law = dataclasses.replace(bed.powder.sintering, programme=cell.powder.sintering.programme)
    powder = dataclasses.replace(bed.powder, sintering=law)
    fired = sinter.plan(greens, doses, powder, cell.binder, cell.furnace)
    return _told({"sinter": sinter_out(fired).model_dump()}, fired.findings)


def oven_tried(job: int, said: str, box: int) -> bytes:
    """One box of a job (from 0) in the oven under other order tables (JSON): `cure`, and `findings`."""
    cell = _cell(job, said)
    powder = kept(outputs(job, "bed.spread")[0], Bed).powder
    layout = kept(outputs(job, "layers.settled")[box], Layout)
    dose = kept(outputs(job, "dosing.plan")[box], Dose)
    cured = cure.plan(layout, dose, powder, cell.binder, cell.oven)
    return _told({"cure": cure_out(cured).model_dump()}, cured.findings)


def learnt(material: str, box: str, boxes: tuple[str, ...], person: str, lot: str) -> bytes:
    """The proposal that readings lead to, as JSON; it is kept in the ledger, see `learning.propose`."""
    return json.dumps(learning.propose(material, box, boxes, person, lot)[0]).encode()


def blended(base: str, cuts: tuple[str, ...], powder: str) -> bytes:
    """What second cuts do to a lot, as JSON, see `blending.blend`."""
    document, lines = blending.blend(base, cuts, powder, "")
    return json.dumps(document | {"lines": lines}).encode()


def _cell(job: int, said: str) -> Cell:
    version = history.version(job)
    if version is None:
        raise InputError("this job plans an order file that lies elsewhere")
    return named(Path(version["folder"]) / "order.toml", json.loads(said))[1]


def _told(document: dict[str, Any], findings: tuple[Finding, ...]) -> bytes:
    words = [
        {"level": each.level, "what": each.what, "text": each.text, "remedy": each.remedy}
        for each in findings
        if each.level != "ok"
    ]
    return json.dumps(document | {"findings": words}).encode()
