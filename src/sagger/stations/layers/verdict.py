"""The limits an export must keep, and what is said when it does not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sagger.goods.finding import Against, Finding, stop
from sagger.goods.good import good

_ROUNDING_MM = 1e-6


@good
class Bounds:
    """What limits are made from, for one piece."""

    pitch_mm: float  # the wider spacing of drops
    diagonal_mm: float  # of one drop's cell
    layer_mm: float
    area_mm2: float  # of the piece's surface
    least: float  # lowest saturation of skin and core


def findings(facts: Mapping[str, float], worst_layer: int, bounds: Bounds) -> tuple[Finding, ...]:
    """A stop for each limit that a piece passes.

    Limits: a drop is set or not by its middle, so an outline is off by a drop's diagonal at most (with its
    sampling moved, without by less), on average by half a drop; a layer by its middle, so each end by half.
    """
    return tuple(_passed(facts, worst_layer, bounds))


def stray(drops: int) -> Iterator[Finding]:
    """A stop if there are drops near no piece."""
    if not drops:
        return
    text = f"{drops} drops lie where no piece is."
    yield _stop("stray drops", text, drops, 0, "drops")


def _passed(facts: Mapping[str, float], worst_layer: int, bounds: Bounds) -> Iterator[Finding]:
    off, limit = facts["deviation_mm"], bounds.diagonal_mm + _ROUNDING_MM
    if off > limit:
        text = f"In layer {worst_layer + 1} a drop lies {off:.3f} mm on the wrong side of the outline."
        yield _stop("outline", text, off, limit, "mm")
    bias, limit = facts["edge_bias_mm"], bounds.pitch_mm / 2 + _ROUNDING_MM
    if abs(bias) > limit:
        side = "outside" if bias > 0 else "inside"
        yield _stop("edge bias", f"Edges lie {abs(bias):.4f} mm {side} the outline.", bias, limit, "mm")
    error, limit = facts["height_error_mm"], bounds.layer_mm + _ROUNDING_MM
    if abs(error) > limit:
        yield _stop("height", f"The drops are {error:+.3f} mm higher than the piece.", error, limit, "mm")
    volume, expected = facts["volume_mm3"], facts["expected_mm3"]
    slack = bounds.area_mm2 * max(bounds.pitch_mm, bounds.layer_mm) / 2
    if not bounds.least * expected - slack <= volume <= expected + slack:
        text = f"The drops fill {volume:.2f} mm3 of {expected:.2f} mm3."
        yield _stop("volume", text, volume - expected, slack, "mm3")


def _stop(what: str, text: str, value: float, limit: float, unit: str) -> Finding:
    return stop(
        what,
        text,
        Against(float(value), float(limit), unit, "half a drop, half a layer"),
        "Do not print these files; export them again.",
    )
