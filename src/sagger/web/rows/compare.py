"""Two jobs side by side: what was changed, and each figure of both with the better one marked."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from itertools import groupby

from markupsafe import Markup

from sagger.goods.good import good
from sagger.goods.plain import Table
from sagger.goods.planned import Plan, WholePlan
from sagger.goods.record import JobRecord, VersionRecord
from sagger.views.wording import signed
from sagger.views.words.changes import changes
from sagger.views.words.compare import Pair, compare
from sagger.views.words.headline import GROUP, headline
from sagger.web import markup

Names = tuple[str, str]
SAME = Markup('<span class="small">same</span>')


@good
class Side:
    """One of the two jobs."""

    row: JobRecord
    version: VersionRecord | None
    tables: Table | None  # of its order file, None if the desk does not keep it
    plan: Plan | None


def page(one: Side, other: Side) -> Markup:
    """Everything the page says."""
    heads = Markup('<div class="fields">{}{}</div>').format(head(one), head(other))
    if not isinstance(one.plan, WholePlan) or not isinstance(other.plan, WholePlan):
        waits = Markup("<p>The comparison comes when both are planned.</p>")
        return heads + changed(one, other) + waits
    return heads + changed(one, other) + tables(pairs(one.plan, other.plan), short_names(one, other))


def pairs(one: WholePlan, other: WholePlan) -> tuple[Pair, ...]:
    """Every line of the comparison, those that a person asks first before the rest."""
    short = (dataclasses.replace(pair, group=GROUP) for pair in headline(one, other))
    return (*short, *compare(one, other))


def head(side: Side) -> Markup:
    """Name and state of a job, and how far it is while it runs."""
    row, bar = side.row, Markup("")
    if row.state == "running":
        share = row.done / row.total if row.total else None
        bar = markup.progress(share, row.name, row.doing)
    link = markup.link(f"/job/{row.id}", title(side))
    return Markup("<div><h2>{} {}</h2>{}</div>").format(link, markup.state(row.state), bar)


def title(side: Side) -> str:
    """Name of the order, and which version or job."""
    number = f"version {side.version.number}" if side.version else f"job {side.row.id}"
    return f"{side.row.name}, {number}"


def changed(one: Side, other: Side) -> Markup:
    """What differs between the two orders; nothing if one lies elsewhere."""
    if one.tables is None or other.tables is None:
        return Markup("")
    lines = changes(one.tables, other.tables)
    body = markup.items(map(signed, lines)) if lines else "nothing in the order"
    return Markup("<h2>What was changed</h2>{}").format(body)


def short_names(one: Side, other: Side) -> Names:
    """Two names that differ: versions of one order, or jobs."""
    if one.version and other.version and one.version.number != other.version.number:
        return f"version {one.version.number}", f"version {other.version.number}"
    return f"job {one.row.id}", f"job {other.row.id}"


def tables(lines: Iterable[Pair], names: Names) -> Markup:
    """A table for each group of lines."""
    parts = []
    for group, of_group in groupby(lines, key=lambda pair: pair.group):
        rows = [row(pair, names) for pair in of_group]
        head_row = ("what", *names, "difference", "better")
        table = markup.table(head_row, rows, group, numbers=(1, 2, 3), kind="pairs")
        parts.append(Markup("<h2>{}</h2>{}").format(group, table))
    return Markup("").join(parts)


def row(pair: Pair, names: Names) -> tuple[object, ...]:
    """One line: both figures, the better one in bold, the difference and whose is better."""
    unit = f" {pair.unit}" if pair.unit else ""
    values: Sequence[object] = [
        markup.resting(text + unit, rests)
        for text, rests in zip((pair.one, pair.other), pair.rests, strict=True)
    ]
    bold = Markup("<strong>{}</strong>")
    shown = [
        bold.format(value) if pair.better == side else value
        for side, value in zip(("one", "other"), values, strict=True)
    ]
    better = {"one": names[0], "other": names[1], "": ""}[pair.better]
    differs = pair.differs + (unit if pair.differs and pair.name != "ready" else "")
    return pair.name, *shown, differs or SAME, better
