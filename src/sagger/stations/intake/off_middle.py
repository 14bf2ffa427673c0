"""A finding about sizes whose nominal value is not in the middle of their limits."""

from __future__ import annotations

from sagger.goods.drawing import Dimension, Drawing
from sagger.goods.finding import Against, Finding, advice

LEAST_MM = 0.005  # nearer to the middle than this nobody would move a face; judgement, no source
FACES = {"diameter": 2, "distance": 2, "thickness": 2}  # a size has two faces, or two sides of one
NAMED = 5


def off_middle(drawing: Drawing) -> list[Finding]:
    """Advice where the drawn face is not where most pieces would be inside their limits."""
    off = [(size, _off(size)) for size in drawing.dimensions if size.unit == "mm" and not size.machined_mm]
    moved = sorted(((s, o) for s, o in off if abs(o) >= LEAST_MM), key=lambda pair: -abs(pair[1]))
    if not moved:
        return []
    named = "; ".join(_words(size, by) for size, by in moved[:NAMED])
    more = f" and {len(moved) - NAMED} more" if len(moved) > NAMED else ""
    text = f"Nominal is not the middle of the limits, so pieces made as drawn aim off it: {named}{more}."
    remedy = "Draw these faces offset by that, or ask whether the middle may be made."
    return [advice("off middle", text, Against(moved[0][1], 0.0, "mm"), remedy)]


def _off(size: Dimension) -> float:
    """From the nominal size to the middle of its limits [mm]."""
    if size.nominal is None or size.lower is None or size.upper is None:
        return 0.0
    return (size.lower + size.upper) / 2 - size.nominal


def _words(size: Dimension, by: float) -> str:
    name = size.name or f"{size.kind} {size.nominal:g}"
    return f"{name} by {by / FACES.get(size.kind, 1):+.4g} mm a face"
