"""Genealogy as lines to read and as rows of a table."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sagger.goods.booked import PlannedFactors
from sagger.goods.traced import Ancestry, Offspring, PieceInBox, TracedBox, TracedPiece, TracedReading
from sagger.views.words.readings import doubt, size


class Behind(NamedTuple):
    """One step behind a piece: what it was, and who entered it when."""

    step: str
    name: str
    what: str
    entry: int | None
    person: str = ""
    at: str = ""


def back_rows(behind: Ancestry) -> list[Behind]:
    """One row for each step behind a piece."""
    rows = []
    for row in _steps(behind):
        head = behind.entries.get(row.entry) if row.entry is not None else None
        rows.append(row._replace(person=head.person, at=head.at) if head else row)
    return rows


def back_lines(behind: Ancestry) -> list[str]:
    """The same, to read; the works of the plan are only counted."""
    lines = []
    for row in back_rows(behind):
        if row.step != "work":
            who = f"  [{row.entry}: {row.person}, {row.at}]" if row.person else ""
            lines.append(f"{row.step:<12} {row.name}  {row.what}{who}".rstrip())
    if behind.works:
        lines.append(f"{len(behind.works)} works of job {behind.box.job}; `sagger show` and --json say each")
    return lines


def forward_lines(after: Offspring) -> list[str]:
    """What a lot went into."""
    lines = [f"lot {after.lot}", f"  further lots: {', '.join(after.lots) or 'none'}"]
    lines += [f"  boxes: {', '.join(after.boxes) or 'none'}", f"  {len(after.pieces)} pieces:"]
    return lines + [f"    {piece_line(piece)}" for piece in after.pieces]


def piece_line(piece: PieceInBox) -> str:
    """A piece in one line."""
    run = f"  furnace run {piece.load}" if piece.load else ""
    return f"{piece.box}  {piece.label}{'  coupon' if piece.coupon else ''}{run}"


def _steps(behind: Ancestry) -> Iterator[Behind]:
    piece, box, facts = behind.piece, behind.box, behind.box.facts
    yield Behind("piece", piece.label, _at(piece), piece.entry)
    yield Behind("box", box.name, _planned(box), box.entry)
    for kind, card in (facts.cards or {}).items():
        yield Behind(f"{kind} card", card, "", box.entry)
    if facts.factors is not None:
        yield Behind("factors", facts.factors.origin, _factors(facts.factors), box.entry)
    for step in behind.powder:
        sources = ", ".join(f"{mass:g} kg of {name}" for name, mass in step.sources.items())
        text = f"{step.what}, {step.kg:g} kg" + (f" from {sources}" if sources else "")
        yield Behind(step.place, step.name, text, step.entry)
    for run in behind.furnace:
        text = ", ".join(word for word in (run.furnace, run.programme, run.tray, run.place) if word)
        yield Behind("furnace run", run.name, text, run.entry)
    for taken in behind.readings:
        yield Behind("reading", str(taken.reading.number), _measured(taken), taken.entry)
    for work in behind.works:
        yield Behind("work", work.verb, f"edition {work.edition}, {work.output}", None)


def _measured(taken: TracedReading) -> str:
    reading = taken.reading
    what = " ".join(filter(None, (reading.state, reading.kind, reading.feature, reading.axis)))
    text = f"{what} {size(reading.kind, reading.value, doubt(reading), reading.unit)}"
    return text + (f", {reading.instrument}" if reading.instrument else "")


def _at(piece: TracedPiece) -> str:
    if piece.x_mm is None:
        return piece.part
    return f"{piece.part}, at {piece.x_mm:.1f}, {piece.y_mm:.1f}, {piece.z_mm:.1f} mm in the box"


def _planned(box: TracedBox) -> str:
    job = f"box {box.number} of job {box.job}" if box.job else "not from a plan"
    return f"{job}, {box.facts.order}, edition {box.facts.edition}" if box.facts.order else job


def _factors(factors: PlannedFactors) -> str:
    pairs = zip("xyz", factors.k, factors.u, strict=True)
    return ", ".join(f"{axis} {k:.5f} ± {u:.5f}" for axis, k, u in pairs)
