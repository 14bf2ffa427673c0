"""What is to be said of the promise of a drawing's lines: which are at risk, and what is to be done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sagger.goods.finding import PRACTICE, Against, Finding, about, risk
from sagger.goods.promised import LinePromise
from sagger.stations.promise.drawn_promise import ENOUGH
from sagger.stations.promise.raising import PromiseCase

NAMED = 4  # of the worst lines


def findings(cases: Sequence[PromiseCase], lines: Sequence[LinePromise]) -> Iterator[Finding]:
    """One for each part whose drawing asks for what is seldom met."""
    for case in cases:
        mine = [line for line in lines if line.part == case.doubted.part]
        weak = sorted((line for line in mine if line.chance < ENOUGH), key=lambda line: line.chance)
        if weak:
            yield about(case.doubted.part, _at_risk(case, mine, weak))


def _at_risk(case: PromiseCase, mine: Sequence[LinePromise], weak: Sequence[LinePromise]) -> Finding:
    named = "; ".join(_named(line) for line in weak[:NAMED])
    more = f"; {len(weak) - NAMED} more" if len(weak) > NAMED else ""
    text = (
        f"{case.green.part.request.name}: {len(weak)} of {len(mine)} lines of the drawing are met by less "
        f"than {ENOUGH:.0%} of pieces: {named}{more}."
    )
    cut = [line for line in weak[:NAMED] if line.stock_mm is not None]
    remedy = "Agree wider limits"
    if cut:
        stock = ", ".join(f"{line.stock_mm:.2g} mm for {line.line}" for line in cut)
        remedy += f", or cut these faces after sintering (about so much stock: {stock})"
    return risk("drawing at risk", text, Against(weak[0].chance, ENOUGH, "-", PRACTICE), f"{remedy}.")


def _named(line: LinePromise) -> str:
    most = line.shares[0][0] if line.shares else "no doubt known"
    return f"{line.line} ({line.what}) {line.chance:.1%}, mostly {most}"
