"""What a person should know about layers as drawn. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.figure import cited_at
from sagger.goods.finding import Against, Finding, advice, risk
from sagger.goods.head import Head
from sagger.goods.stack import Stack, Tally

UNEVEN = 0.02  # of the largest drop: levels farther off print another volume than the outline holds
ROUNDED = 0.1  # of the soaking depth


def noticed(stack: Stack, tally: Tally, head: Head) -> tuple[Finding, ...]:
    """Findings about mended outlines, rows without a nozzle, soaking depth and grey levels."""
    return (*_mended(tally), *_dead(stack, tally, head), *_depth(stack), *_uneven(head))


def _mended(tally: Tally) -> Iterator[Finding]:
    if not tally.bridges and not tally.leaks:
        return
    text = (
        f"Outlines were open: {tally.bridges} gaps were joined, the longest of {tally.longest_mm:.3f} mm; "
        f"{tally.leaks} rows of drops could not be closed and lack their last span."
    )
    yield risk(
        "open outlines",
        text,
        Against(value=tally.longest_mm, unit="mm", source="counted while drawing"),
        "Mend the part file, or look at these layers before printing.",
    )


def _dead(stack: Stack, tally: Tally, head: Head) -> Iterator[Finding]:
    if not stack.missed:
        return
    drops = int(tally.drops.sum())
    share = 100 * tally.lost / max(1, drops + tally.lost)
    text = (
        f"{len(head.dead_nozzles)} nozzles are out; {len(stack.missed)} of {stack.rows} rows are printed by "
        f"no other. Their drops fall in the rows beside; {tally.lost} found no place there and are missing, "
        f"{share:.3g} % of all."
    )
    yield risk(
        "dead nozzles",
        text,
        Against(value=share, unit="%", source="head card, dead_nozzles"),
        "Clean or change the head, or print with redundancy: solid places keep a weak line there.",
    )


def _depth(stack: Stack) -> tuple[Finding, ...]:
    by_depth: dict[float, Finding] = {}
    for treatment in stack.style.treatments:
        depth = treatment.depth_mm
        drawn = round(depth / stack.layer_mm) * stack.layer_mm
        if abs(drawn - depth) > ROUNDED * depth:
            by_depth[depth] = advice(
                "soaking depth rounded",
                f"Undersides are raised by {drawn * 1e3:.0f} um, not by {depth * 1e3:.0f} um: by whole "
                f"layers of {stack.layer_mm * 1e3:.0f} um.",
                Against(drawn * 1e3, depth * 1e3, "um", "choices"),
                "Ask for a multiple of the layer height.",
            )
    return tuple(by_depth.values())


def _uneven(head: Head) -> Iterator[Finding]:
    if not head.levels:
        return
    top, largest = len(head.levels), head.levels[-1].value
    off = [level.value / largest - n / top for n, level in enumerate(head.levels, 1)]
    worst = max(off, key=abs)
    if abs(worst) <= UNEVEN:
        return
    n = off.index(worst) + 1
    yield advice(
        "uneven levels",
        f"Level {n} of {top} holds {100 * (worst + n / top):.0f} % of the largest drop; edges and "
        f"fractional saturations are drawn as if it held {100 * n / top:.0f} %. Binder counts as it is.",
        Against(100 * (worst + n / top), 100 * n / top, "%", cited_at(head.levels[n - 1])),
        "Tune the waveform to evenly growing drops.",
    )
