"""Planning: one order through the whole line, its results left in a folder."""

from __future__ import annotations

import dataclasses
import datetime
import json
from importlib.metadata import version
from pathlib import Path
from typing import Unpack

from sagger import cards, compiled, files, line
from sagger.desk.home import box_folder, card_folders, write_whole
from sagger.desk.home import ledger as open_ledger
from sagger.desk.measuring import conditions
from sagger.desk.planning import overview
from sagger.desk.planning.cache import maker
from sagger.desk.planning.export import drawing
from sagger.desk.planning.orders import BareWords, NamedOrder, read, wish
from sagger.desk.planning.warm import warmed
from sagger.errors import Cancelled, InputError, SaggerError, StopError, not_written
from sagger.files.vtk import write as write_vtk
from sagger.goods.good import digest, good
from sagger.goods.job import Job
from sagger.goods.part import Part
from sagger.goods.stack import Stack, Tally
from sagger.ledger import Ledger, bodies, entries, jobs, learned, plans, works
from sagger.stations import layers
from sagger.tick import Tick, silent
from sagger.views import plan as plan_view
from sagger.views.paper import traveller
from sagger.views.pictures.palette import letter
from sagger.views.words import summary

WORKDAY_BEGINS = 8  # hour at which a job starts when the order does not say


@good
class PlanResult:
    """What planning came to."""

    job: int  # its number in the ledger
    folder: Path  # of its results
    made: Job | None  # the whole job as goods; None where it was stopped
    document: dict[str, object]  # plan.json
    lines: list[str]  # what a person is told

    @property
    def stopped(self) -> bool:
        """True if the process cannot make it as asked."""
        return self.made is None


def plan(
    source: str | Path,
    into: str | Path,
    *,
    job: int | None = None,
    tick: Tick = silent,
    **words: Unpack[BareWords],
) -> PlanResult:
    """An order, or a bare part, carried through the line; its results are left in the folder `into`.

    Parameters
    ----------
    source : str or Path
        An order (`.toml`) or a part file (STL, 3MF, STEP, OBJ, PLY).
    into : str or Path
        Folder of layers, bed.3mf, traveller and plan.json.
    job : int, optional
        The number under which it was asked for before; without one it gets a new number.
    tick : Tick
        Hears how far it is, and may say stop.
    **words
        For a bare part file, as for `check`.

    Raises
    ------
    InputError
        If the order, a part file, a card, a word or the folder is refused.
    StopError
        If the process cannot make it, found after the parts were checked.
    Cancelled
        If a person said stop; the same call goes on from there.
    """
    asked = read(Path(source), wish(**words), tick=tick)
    into = Path(into).resolve()
    _refuse_strange(into)
    warmed(tick)
    book = open_ledger()
    entries.check(book)  # of a ledger that was damaged or edited nothing is planned
    busy = jobs.running(book, str(into), besides=job)
    if busy is not None:
        what = f"job {busy} is writing into this folder"
        raise InputError(what, file=str(into), remedy="Wait for it, or give another folder with --into.")
    earlier = jobs.unfinished(book, asked.digest, str(into))
    start = asked.order.start or (earlier.start if earlier else _next_morning())
    asked = dataclasses.replace(asked, order=dataclasses.replace(asked.order, start=start))
    beginning = jobs.Beginning(
        asked.order.name, asked.digest, str(into), version("sagger"), asked.order.start
    )
    number = jobs.begin(book, beginning, job=job)
    try:
        with compiled.announced(tick.say):
            outcome = _run(number, asked, into, book, tick)
    except Cancelled:
        jobs.end(book, number, "cancelled")
        raise
    except (SaggerError, OSError) as error:
        stops = not_written(error) if isinstance(error, OSError) else error
        if stops is None:
            raise
        jobs.end(book, number, "stopped" if isinstance(error, StopError) else "failed", str(stops))
        raise stops from error
    kept = bodies.put(book, json.dumps(outcome.document))
    overview.keep(book, kept, plans.plan(book, kept))
    jobs.end(book, number, "stopped" if outcome.stopped else "done", plan_digest=kept)
    return outcome


def _run(number: int, asked: NamedOrder, into: Path, book: Ledger, tick: Tick) -> PlanResult:
    make = maker(book, number, tick)
    parts = line.check(asked.order, asked.files, asked.cell, make)
    if any(part.stopped for part in parts):
        return _refused(number, asked, parts, into)
    lot = asked.cell.lot.name if asked.order.lot and asked.cell.lot else ""
    approved = conditions.in_force(learned.in_force(book, asked.cell.powder.name, asked.cell.box.name, lot))
    drawn = drawing(into, asked.cell.head, asked.order.choices.compression, tick=tick)

    def draw(stack: Stack) -> Tally:
        jobs.tell(book, number, step=works.room(layers.draw))
        return drawn(stack)

    job = line.run(asked.order, asked.files, asked.cell, approved, make, draw)
    tick.say("writing the plan")
    return _written(number, job, into)


def _written(number: int, job: Job, into: Path) -> PlanResult:
    cautions, weak = cards.cautions(job.cell), cards.weak(job.cell)
    document = plan_view.document(
        job, cautions, weak, cards.sources(job.cell, card_folders()), version("sagger")
    )
    for index, build in enumerate(job.builds):
        folder = box_folder(into, build.layout.number)
        html, pdf = traveller.sheet(job, index, cautions, weak, digest(document))
        files.write_3mf(folder / "bed.3mf", build.layout)
        write_whole(folder / "traveller.html", html.encode())
        write_whole(folder / "traveller.pdf", pdf)
    _write_finished(into / "furnace", job)
    _write_plan(into, document)
    lines = [*summary.lines(job), f"results: {into} (job {number})"]
    return PlanResult(job=number, folder=into, made=job, document=document, lines=lines)


def _write_finished(folder: Path, job: Job) -> None:
    """The surface of each part that was followed through the furnace, with what it is off by, as VTK."""
    for index, green in enumerate(job.builds[0].layout.greens):
        if green.sag is None or green.sag.finished is None:
            continue
        folder.mkdir(parents=True, exist_ok=True)
        out = green.sag.finished
        fields = {
            "deviation_mm": out.surface.vertices - out.nominal,
            "relative_density": out.density,
            "tension_over_sintering_stress": out.tension,
        }
        write_vtk(folder / f"{letter(index)}.vtk", out.surface, fields, f"{green.part.request.name}, fired")


def _refused(number: int, asked: NamedOrder, parts: tuple[Part, ...], into: Path) -> PlanResult:
    document = plan_view.refused(asked.order, parts, version("sagger"))
    _write_plan(into, document)
    lines = [*summary.check_lines(parts), f"not planned: a finding at level stop; see {into / 'plan.json'}"]
    return PlanResult(job=number, folder=into, made=None, document=document, lines=lines)


def _write_plan(into: Path, document: dict[str, object]) -> None:
    text = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
    write_whole(into / "plan.json", text.encode())


def _refuse_strange(into: Path) -> None:
    path = into / "plan.json"
    if into.exists() and not into.is_dir():
        raise InputError("results need a folder", file=str(into), remedy="Give another with --into.")
    if path.exists() and '"sagger-plan/' not in path.read_text(errors="replace")[:200]:
        what = "the folder holds a plan.json that is not ours"
        raise InputError(what, file=str(path), remedy="Give another folder with --into.")


def _next_morning() -> str:
    day = datetime.datetime.now().date() + datetime.timedelta(days=1)
    while day.weekday() > 4:
        day += datetime.timedelta(days=1)
    return datetime.datetime.combine(day, datetime.time(WORKDAY_BEGINS)).isoformat(timespec="minutes")
