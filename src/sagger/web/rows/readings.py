"""Powder on the shelf, one lot in full, and what was measured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from sagger.views.wording import signed
from sagger.views.words.lots import LotDocument
from sagger.views.words.noticed import FindingLine
from sagger.web import markup

SHOWN = 200  # readings, newest first; the command line lists all
NO_READINGS = "<p>No readings yet.</p>"
NO_INSTRUMENTS = "<p>No instruments are entered yet.</p>"
HEAD = ("Lot", "Powder", "Origin", "on the shelf, kg", "To look at")
KINDS = ("length", "angle", "mass", "density", "force", "hardness", "temperature")  # what an instrument reads
DOUBTS = {
    "u": "standard uncertainty of one reading, such as 0.005 mm",
    "u_shared": "of what all its readings share, such as 0.01 mm",
    "u_shared_relative": "the same as a share, such as 0.02 %",
}


def waits_for_its_lot(name: str) -> bool:
    """Whether an uploaded file is a table that a lot file will name, not the lot file itself."""
    return name.endswith(".csv")


def shelf(lots: Iterable[LotDocument]) -> Markup:
    """Every lot with powder in it, and what a person should look at."""
    rows = [lot_row(lot) for lot in lots]
    if not rows:
        return Markup("<p>No powder is booked in yet.</p>")
    return markup.table(HEAD, rows, "Powder on the shelf", numbers=(3,))


def lot_row(lot: LotDocument) -> tuple[object, ...]:
    """One lot under `HEAD`."""
    link = markup.link(f"/lots/{lot.name}", lot.name)
    return link, lot.powder, lot.origin, f"{lot.mass_kg:.3f}", to_look_at(lot.findings)


def to_look_at(findings: Iterable[FindingLine]) -> Markup:
    """Findings that are not "ok", a line each."""
    block = Markup("{} {}: {}")
    return Markup("<br>").join(
        block.format(markup.state(finding.level), finding.what, finding.text)
        for finding in findings
        if finding.level != "ok"
    )


def lot(name: str, lines: Iterable[str], picture: str) -> Markup:
    """One lot in full: "name: value" lines as facts, and its size curve if one was measured."""
    pairs = (line.strip().partition(": ") for line in lines)
    facts = markup.facts((signed(head), signed(rest)) for head, _, rest in pairs)
    block = '<div class="picture" role="img" aria-label="size curve of {}">{}</div>'
    return facts + (Markup(block).format(name, Markup(picture)) if picture else Markup(""))


def readings(lines: Sequence[str]) -> Markup:
    """The newest readings first; `lines` come oldest first."""
    if not lines:
        return Markup(NO_READINGS)
    older = len(lines) - SHOWN
    more = (
        Markup("<p>{} older ones: sagger readings lists all.</p>").format(older) if older > 0 else Markup("")
    )
    return markup.items(reversed(lines[-SHOWN:])) + more


def instruments(lines: Sequence[str]) -> Markup:
    """Every instrument with its uncertainties."""
    return markup.items(lines) if lines else Markup(NO_INSTRUMENTS)


def taken(lines: Iterable[str]) -> Markup:
    """What of a table of readings was taken, and what was not."""
    return markup.items(line.strip() for line in lines)
