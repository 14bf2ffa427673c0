"""A finding about sizes whose nominal value is not in the middle of their limits."""

from __future__ import annotations

import numpy as np

from sagger.goods.drawing import Dimension
from sagger.goods.finding import Against, Finding, advice
from sagger.stations.intake.characteristics import Evaluated

LEAST_MM = 0.005  # nearer to the middle than this nobody would move a face; judgement, no source
LEAST_LEVER = 0.2  # mm of size for 1 mm of its faces: with less they do not make it
NAMED = 5


def off_middle(made: Evaluated) -> list[Finding]:
    """Advice where the drawn face is not where most pieces would be inside their limits."""
    off = [(number, _outward(made, number)) for number in range(1, len(made.drawing.dimensions) + 1)]
    moved = sorted(((n, o) for n, o in off if abs(o) >= LEAST_MM), key=lambda pair: -abs(pair[1]))
    if not moved:
        return []
    named = "; ".join(_words(made.drawing.dimensions[number - 1], by) for number, by in moved[:NAMED])
    more = f" and {len(moved) - NAMED} more" if len(moved) > NAMED else ""
    text = f"Nominal is not the middle of the limits, so pieces made as drawn aim off it: {named}{more}."
    remedy = (
        "Write that as the offset of the dimension in the order (its faces are moved out of the material by "
        "it), draw these faces so, or ask whether the middle may be made."
    )
    return [advice("off middle", text, Against(moved[0][1], 0.0, "mm"), remedy)]


def lever(made: Evaluated, number: int) -> float:
    """How far a size goes where its own faces move out of the material by 1 mm; 0 where it is not counted."""
    own = made.drawing.dimensions[number - 1].faces
    values = [one.weights[:, np.isin(one.faces, own)].sum(axis=1).mean() for one in made.asked
              if one.line == number]  # fmt: skip
    return float(np.mean(values)) if values else 0.0


def _outward(made: Evaluated, number: int) -> float:
    """How far its faces are to go out of the material, until it is in the middle of its limits [mm]."""
    size = made.drawing.dimensions[number - 1]
    by = lever(made, number)
    if size.unit != "mm" or size.nominal is None or size.lower is None or size.upper is None:
        return 0.0
    if abs(by) < LEAST_LEVER:
        return 0.0
    return ((size.lower + size.upper) / 2 - size.nominal) / by - (size.offset_mm or 0.0)


def _words(size: Dimension, by: float) -> str:
    name = size.name or f"{size.kind} {size.nominal:g}"
    return f'{name}, offset = "{by + (size.offset_mm or 0.0):.4g} mm"'
