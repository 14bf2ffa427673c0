"""Factors learnt from readings, as a person sees them before they hold."""

from __future__ import annotations

from markupsafe import Markup

from sagger.errors import InputError
from sagger.goods.learned import AxisLearned, Scatter
from sagger.views.wording import share
from sagger.views.words.learned import SOURCES, VERDICTS, ProposalDocument
from sagger.web import markup

SHOWN = 5  # proposals, newest first
HEAD = ("Axis", "in force", "found", "pieces", "proposed", "verdict")
BLOCKED = (
    "<p>It contradicts what is in force: find out why. If it is right, approve the factors by hand, "
    "below.</p>"
)


def proposal(learned: ProposalDocument) -> Markup:
    """A proposal: where it comes from, what it finds along each axis, how lengths scatter, what to note."""
    entry = learned.entry
    head = Markup("<h3>Proposal {}: {}, from {} readings</h3>")
    parts = [head.format(entry, learned.material, len(learned.readings))]
    rows = [axis_row(axis) for axis in learned.axes]
    parts.append(markup.table(HEAD, rows, f"Proposal {entry}", numbers=(1, 2, 3, 4)))
    parts.append(scatter(learned.scatter))
    if learned.notes:
        parts.append(markup.items(learned.notes))
    return Markup("").join(parts)


def axis_row(axis: AxisLearned) -> tuple[object, ...]:
    """One axis under `HEAD`."""
    pairs = ((axis.before, axis.before_u), (axis.found, axis.found_u), (axis.k, axis.u))
    before, measured, proposed = (f"{value:.5f} ± {doubt:.5f}" for value, doubt in pairs)
    return axis.axis, before, measured, axis.pieces, proposed, VERDICTS[axis.verdict]


def scatter(of_length: Scatter) -> Markup:
    """How much of the scatter of a length comes from where."""
    parts = ", ".join(f"{words} {share(getattr(of_length, name), 3)}" for name, words in SOURCES)
    gauge = f"gauge {of_length.gauge_mm:.3f} mm"
    return Markup("<p>Scatter of a length (standard deviations): {}; {}.</p>").format(parts, gauge)


def blocked(learned: ProposalDocument) -> bool:
    """Whether it may not be approved as it is, for it contradicts what is in force."""
    return any(axis.verdict == "blocked" for axis in learned.axes)


def boxes(text: str) -> tuple[str, ...]:
    """Names of printed boxes, with commas between."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


def asked_by(name: str) -> str:
    """Who asks for a proposal; `InputError` if nobody says so."""
    if not name.strip():
        raise InputError("who asks for it?", field="asked by", remedy="Write your name.")
    return name
