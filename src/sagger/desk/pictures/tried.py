"""Work that a page waits for: what another programme would do, what readings say, which cut packs closer.

Runs in a process of `workers`: a furnace run takes half a second, a box in the oven several.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TypeVar

from sagger import line
from sagger.desk import uploads
from sagger.desk.home import ledger
from sagger.desk.measuring import learning
from sagger.desk.planning import history
from sagger.desk.planning.orders import named
from sagger.desk.powder import blending
from sagger.desk.powder.lot import of_ledger
from sagger.desk.so_far import so_far
from sagger.errors import InputError
from sagger.goods.asked import CellOffer
from sagger.goods.cell import Cell
from sagger.goods.finding import Finding
from sagger.goods.good import Key, good, plain
from sagger.goods.job import JobSoFar
from sagger.goods.plain import restored
from sagger.goods.planned import PlanCure, PlanFinding, PlanFiring
from sagger.ledger import bodies
from sagger.views import plan

T = TypeVar("T")


@good
class TriedRun:
    """What another programme does."""

    run: PlanFiring | PlanCure
    findings: tuple[PlanFinding, ...]  # at level look or stop


def read(told: bytes) -> TriedRun:
    """What `furnace_tried` or `oven_tried` told."""
    document = json.loads(told)
    run: PlanFiring | PlanCure
    if "sinter" in document:
        run = restored(PlanFiring, document["sinter"])
    else:
        run = restored(PlanCure, document["cure"])
    return TriedRun(
        run=run, findings=tuple(restored(PlanFinding, finding) for finding in document["findings"])
    )


def furnace_tried(job: int, tables: str) -> bytes:
    """The furnace run of a job under other order tables (JSON): `sinter` as in plan.json, and `findings`.

    Parts keep the size, and the bending against sag, that they were planned with.
    """
    book, done = ledger(), so_far(ledger(), job)
    greens = bodies.get(book, _reached(done.layouts, 0)).greens
    doses = tuple(bodies.get(book, key) for key in done.doses)
    fired = line.fire(greens, doses, _cell(job, done, tables), line.plainly)
    return _told({"sinter": plan.of(fired)}, fired.findings)


def oven_tried(job: int, tables: str, box: int) -> bytes:
    """One box of a job (from 0) in the oven under other order tables (JSON): `cure`, and `findings`."""
    book, done = ledger(), so_far(ledger(), job)
    layout, dose = bodies.get(book, _reached(done.layouts, box)), bodies.get(book, _reached(done.doses, box))
    cured = line.oven(layout, dose, _cell(job, done, tables), line.plainly)
    return _told({"cure": plan.of(cured)}, cured.findings)


def learnt(material: str, box: str, boxes: tuple[str, ...], person: str, lot: str) -> bytes:
    """The proposal that readings lead to, as JSON; it is kept in the ledger, see `learning.propose`."""
    return json.dumps(plain(learning.propose(material, box, boxes, person, lot)[0])).encode()


def blended(base: str, cuts: tuple[str, ...], powder: str) -> bytes:
    """What second cuts do to a lot, as JSON, see `blending.blend`; lots are the ledger's."""
    document, lines = blending.blend(base, cuts, powder, "", find=of_ledger)
    return json.dumps({"document": plain(document), "lines": lines}).encode()


def cell_offered(draft: str, name: str, at: str) -> bytes:
    """What the one new order of an uploaded table would get from the cell, as JSON, see `cell.offer`."""
    from sagger.desk.planning import cell

    return json.dumps(plain(cell.offer(cell.one_order(uploads.held(draft, name)), at))).encode()


def cell_offer(words: bytes) -> CellOffer:
    """What `cell_offered` told."""
    return restored(CellOffer, json.loads(words))


def _reached(keys: tuple[Key[T], ...], place: int) -> Key[T]:
    if not 0 <= place < len(keys):
        raise InputError("the job has not come so far", field="box", value=place + 1)
    return keys[place]


def _cell(job: int, done: JobSoFar, tables: str) -> Cell:
    """The cell of a job under other order tables, with the bed that it was planned with."""
    version = history.version(job)
    if version is None:
        raise InputError("this job plans an order file that lies elsewhere")
    cell = named(Path(version.folder) / "order.toml", json.loads(tables))[1]
    bed = _reached(() if done.bed is None else (done.bed,), 0)
    return line.with_bed(cell, bodies.get(ledger(), bed))


def _told(document: dict[str, object], findings: tuple[Finding, ...]) -> bytes:
    words = [
        {"level": each.level, "what": each.what, "text": each.text, "remedy": each.remedy}
        for each in findings
        if each.level != "ok"
    ]
    return json.dumps(document | {"findings": words}).encode()
