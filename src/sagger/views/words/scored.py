"""What was foretold against what was measured, as lines and as a document."""

from __future__ import annotations

from sagger.goods.plain import Table
from sagger.goods.scored import ForetoldRun, Score, Share


def lines(score: Score) -> list[str]:
    """One line a run, then the shares."""
    rows = [run_line(run) for run in score.runs]
    return [*rows, "", *(share_line(share) for share in (*score.by_quantity, score.whole, score.unseen))]


def run_line(run: ForetoldRun) -> str:
    """ "cabo-1300: sintered density 0.85 ± 0.005, foretold 0.866 (0.783 to 0.927), inside"."""
    start = f"{run.run.key}: {run.run.quantity} {run.run.measured:.4g} ± {run.run.measured_u:.2g}"
    if run.foretold is None:
        return f"{start}; not foretold: {run.why}"
    if run.low is None or run.high is None:
        return f"{start}, foretold {run.foretold:.4g}; {run.why}"
    verdict = "inside" if run.inside else "OUTSIDE"
    after = f"; {run.why}" if run.why else ""
    return f"{start}, foretold {run.foretold:.4g} ({run.low:.4g} to {run.high:.4g}), {verdict}{after}"


def share_line(share: Share) -> str:
    """ "all: 22 of 31 inside 95 % (71 %; 52 to 86 %), median error 4.1 %, median width 18 %"."""
    if share.share is None:
        return f"{share.name}: none with an interval"
    bounds = f"{share.share:.0%}; by so few between {share.share_low:.0%} and {share.share_high:.0%}"
    error = f", median error {share.median_error:.1%}" if share.median_error is not None else ""
    width = f", median width of intervals {share.median_width:.1%}" if share.median_width is not None else ""
    return f"{share.name}: {share.inside} of {share.foretold} inside 95 % ({bounds}){error}{width}"


def document(score: Score) -> Table:
    """The score as one table of plain values."""
    return {
        "rows": len(score.runs),
        "foretold": sum(run.foretold is not None for run in score.runs),
        "with_interval": score.whole.foretold,
        "inside_95": score.whole.inside,
        "share_inside": score.whole.share,
        "share_low": score.whole.share_low,
        "share_high": score.whole.share_high,
        "median_relative_error": score.whole.median_error,
        "median_relative_width": score.whole.median_width,
        "holdout": _share(score.unseen),
        "by_quantity": {share.name: _share(share) for share in score.by_quantity},
        "each": [_run(run) for run in score.runs],
    }


def _share(share: Share) -> Table:
    return {
        "foretold": share.foretold,
        "inside_95": share.inside,
        "share_inside": share.share,
        "share_low": share.share_low,
        "share_high": share.share_high,
        "median_relative_error": share.median_error,
        "median_relative_width": share.median_width,
    }


def _run(run: ForetoldRun) -> Table:
    return {
        "key": run.run.key,
        "what": run.run.quantity,
        "source": run.run.source,
        "standing": run.run.standing,
        "unit": run.run.unit,
        "measured": run.run.measured,
        "measured_u": run.run.measured_u,
        "foretold": run.foretold,
        "u": run.u,
        "low": run.low,
        "high": run.high,
        "z": run.z,
        "inside_95": run.inside,
        "relative_error": run.error,
        "independent": run.run.independent,
        "holdout": run.run.holdout,
        "why": run.why,
    }
