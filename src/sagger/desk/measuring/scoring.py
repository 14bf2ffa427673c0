"""What the program foretells, held against what was measured: a table's runs, or the shop's own."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from statistics import median

from sagger.cards.read import SHIPPED
from sagger.desk.measuring.foretelling import foretold
from sagger.files import runs as run_table
from sagger.goods.plain import Table
from sagger.goods.scored import ForetoldRun, Score, Share
from sagger.statistics import coverage
from sagger.views.charts import score as chart
from sagger.views.words import scored as view

PRINTED = SHIPPED / "runs.csv"  # runs in print that the project keeps


def score(table: str | Path = PRINTED) -> Score:
    """What would have been foretold of measured runs, how far off it is, and how often its intervals held.

    Parameters
    ----------
    table : path
        A CSV of measured runs (docs/score.md lists its columns); the project's own runs in print if left out.

    Raises
    ------
    InputError
        If the table cannot be read. A run that cannot be foretold is none: it says why.

    Examples
    --------
    >>> found = sagger.score()
    >>> found.whole.foretold <= len(found.runs)
    True
    """
    rows = tuple(foretold(run) for run in run_table.read(Path(table)))
    names = list(dict.fromkeys(row.run.quantity for row in rows))
    return Score(
        runs=rows,
        whole=_share("all", rows),
        by_quantity=tuple(_share(name, (row for row in rows if row.run.quantity == name)) for name in names),
        unseen=_share("never used for setting", (row for row in rows if row.run.holdout)),
    )


def scored(table: Path | None, into: Path | None) -> tuple[Table, list[str]]:
    """As `score`, as a document and as lines; with `into` a picture of it in that folder."""
    whole = score(table or PRINTED)
    lines = view.lines(whole)
    if into is not None:
        into.mkdir(parents=True, exist_ok=True)
        (into / "score.svg").write_text(chart.picture(whole), "utf-8")
        lines.append(f"picture: {into / 'score.svg'}")
    return view.document(whole), lines


def _share(name: str, of: Iterable[ForetoldRun]) -> Share:
    """How many intervals held, and how wide they are."""
    rows = tuple(of)
    judged = [row for row in rows if row.inside is not None]
    inside = sum(bool(row.inside) for row in judged)
    low, high = coverage.bounds(inside, len(judged)) if judged else (None, None)
    errors = [abs(row.error) for row in rows if row.error is not None]
    widths = [(row.high - row.low) / row.foretold for row in judged if row.high and row.low and row.foretold]
    return Share(
        name=name,
        foretold=len(judged),
        inside=inside,
        share=inside / len(judged) if judged else None,
        share_low=low,
        share_high=high,
        median_error=median(errors) if errors else None,
        median_width=median(widths) if widths else None,
    )
