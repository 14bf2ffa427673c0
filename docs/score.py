"""Makes the table of score.md and its picture: `python docs/score.py` rewrites them from cards/runs.csv."""

from __future__ import annotations

from pathlib import Path

from sagger.desk.measuring import scoring
from sagger.goods.scored import ForetoldRun, Score
from sagger.views.charts import score as chart
from sagger.views.words import scored as view

HERE = Path(__file__).parent
PAGE = HERE / "score.md"
PICTURE = HERE / "pictures" / "score.svg"
MARK = "<!-- what follows is made by docs/score.py; do not edit -->"
PICTURED = "![Measured against foretold](pictures/score.svg)"
HEADS = ("run", "what", "measured", "foretold", "95 %", "inside", "part", "standing", "source")


def table(score: Score) -> str:
    """Shares, then one row for each run."""
    shares = [f"- {view.share_line(share)}" for share in (*score.by_quantity, score.whole, score.unseen)]
    rows = [_row(HEADS), _row(["---"] * len(HEADS)), *(_row(_cells(run)) for run in score.runs)]
    return "\n".join([MARK, "", *shares, "", PICTURED, "", *rows, ""])


def _cells(run: ForetoldRun) -> list[str]:
    of = run.run
    part = "held out" if of.holdout else "setting" if of.independent else "fit of a card"
    interval = f"{run.low:.3g} to {run.high:.3g}" if run.low is not None and run.high is not None else run.why
    measured = f"{of.measured:g} ± {of.measured_u:g}"
    inside = {True: "yes", False: "**no**", None: ""}[run.inside]
    foretold = "" if run.foretold is None else f"{run.foretold:.3g}"
    return [of.key, of.quantity, measured, foretold, interval, inside, part, of.standing, of.source]


def _row(cells: tuple[str, ...] | list[str]) -> str:
    return f"| {' | '.join(cells)} |"


if __name__ == "__main__":
    score = scoring.score()
    head = PAGE.read_text("utf-8").partition(MARK)[0]
    PAGE.write_text(head + table(score), "utf-8")
    PICTURE.write_text(chart.picture(score), "utf-8")
