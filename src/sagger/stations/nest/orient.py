"""In which of its allowed orientations a part may lie, and what that choice costs."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sagger.errors import StopError
from sagger.goods.finding import Against, ok
from sagger.goods.green import Green
from sagger.goods.layout import Nest, Pose
from sagger.stations.nest.look import powder_out, steps
from sagger.stations.nest.noted import high_mm, noted

_AS_PLAIN = 0.01  # layer heights: orientations whose steps differ by less count as alike
_AS_CLEAN = 0.01  # of the part's volume: so much powder more or less counts as alike
_AS_SURE = 0.005  # of all pieces: chances that differ by less count as alike
_AS_STIFF = 0.1  # sag that is larger by no more than this share counts as alike
_WORDS = {
    "surface": "with the lowest steps",
    "powder": "that carry least powder out",
    "promise": "in which most pieces are good",
    "sag": "that sag least in the furnace, standing there as they lie here,",
}


def chosen(green: Green, turns: list[int], prefer: str) -> list[int]:
    """Those of the orientations `turns` that suit the wish `prefer` best; all for "height".

    Raises
    ------
    StopError
        If sag was wished for and nobody knows how the part sags.
    """
    if prefer == "height":
        return turns
    measured = np.array([_MEASURES[prefer](green, turn) for turn in turns])
    sagging = _AS_STIFF * float(measured.min())
    alike = {"surface": _AS_PLAIN, "powder": _AS_CLEAN, "promise": _AS_SURE, "sag": sagging}[prefer]
    return [turn for turn, each in zip(turns, measured, strict=True) if each <= measured.min() + alike]


def _sags(green: Green, turn: int) -> float:
    sag = green.part.sag_mm
    if sag is None:
        raise StopError(
            f'part {green.part.request.name!r}: prefer = "sag" in [nesting] needs a powder that is sintered '
            f"and a closed surface; mend the file, or prefer something else"
        )
    return float(sag[turn])


def _fails(green: Green, turn: int) -> float:
    """Share of pieces that are not good; held pieces are asked for nothing."""
    return 0.0 if green.chances is None else 1.0 - float(green.chances[turn])


_MEASURES: dict[str, Callable[[Green, int], float]] = {
    "surface": steps,
    "powder": powder_out,
    "promise": _fails,
    "sag": _sags,
}


def with_price(preferred: Nest, lowest: Nest, prefer: str) -> Nest:
    """The nest with a word on what its choice of orientations gains and costs beside the lowest one."""
    heights = [high_mm(nest) for nest in (preferred, lowest)]
    gains = [
        f"{name} {_mean(preferred, of):.3g} instead of {_mean(lowest, of):.3g} {unit}"
        for name, of, unit in _measures(preferred)
    ]
    text = (
        f"Orientations {_WORDS[prefer]} were taken: builds are {heights[0]:.1f} mm high in all instead "
        f"of {heights[1]:.1f} mm, layers {heights[0] / max(heights[1], 1e-9) - 1:+.0%}; {', '.join(gains)}."
    )
    return noted(
        preferred, ok(f"orientations by {prefer}", text, Against(heights[0], heights[1], "mm", "choices"))
    )


def _measures(nest: Nest) -> list[tuple[str, Callable[[Pose], float], str]]:
    """What orientations are compared by: name, measure and unit; sag only where it was looked at."""
    measures: list[tuple[str, Callable[[Pose], float], str]] = [
        ("steps", lambda pose: pose.steps, "layer heights"),
        ("powder carried out", lambda pose: pose.carried, "part volumes"),
    ]
    if all(pose.chance is not None for layout in nest.layouts for pose in layout.poses):
        measures.insert(0, ("good pieces", lambda pose: 100 * (pose.chance or 0.0), "%"))
    known = all(pose.sag_mm is not None for layout in nest.layouts for pose in layout.poses)
    return [*measures, ("sag", lambda pose: pose.sag_mm or 0.0, "mm")] if known else measures


def _mean(nest: Nest, of: Callable[[Pose], float]) -> float:
    """Mean over all pieces."""
    poses = [pose for layout in nest.layouts for pose in layout.poses]
    return float(np.average([of(pose) for pose in poses], weights=[pose.pieces for pose in poses]))
