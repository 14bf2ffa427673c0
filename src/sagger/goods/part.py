"""A part that was looked at: healed, measured, with findings."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.drawing import Drawing
from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.order import Request
from sagger.goods.shape import Shape


@good
class Unpacking:
    """What unpacking meets in one piece; lengths and volumes at nominal size."""

    trapped_mm3: float  # loose powder without a way out, or behind openings too narrow for it
    pockets_mm3: float  # loose powder that leaves through channels
    slimness: float  # length over width of the longest way out for its width [-]; 0 = no channel
    openings: int  # of the pocket that this way belongs to; 0 = no channel
    weight_margin: float  # green strength over stress where the piece is weakest: jolted under its own weight
    air_margin: float  # ... under a jet of air
    brush_margin: float  # ... under the push of a brush; all three inf where no thin wall stands out


@good
class Part:
    request: Request
    digest: str = holds("of the part file's bytes")
    shape: Shape  # healed, scaled and turned as asked; nominal size [mm]
    volume_mm3: float = holds("at nominal size", "mm3")
    area_mm2: float = holds("at nominal size", "mm2")
    extent_mm: tuple[float, float, float] = holds(
        "overall size along x, y, z as filed and turned by the order", "mm"
    )
    # largest wall, for debinding
    thickest_mm: float = holds("diameter of the largest ball that fits inside", "mm")
    turns: ndarray  # float64 (t, 3, 3): allowed orientations as rotations, first = as filed
    healed: tuple[str, ...] = holds("what was mended in the file, in words")
    findings: tuple[Finding, ...] = holds("what intake noticed")
    unpacking: Unpacking | None = None  # None: not looked at
    drawing: Drawing | None = holds("what the file asks for on its faces, as it was read", default=None)
    asked: tuple[DrawnFeature, ...] = ()  # what the promise counts of the drawing, in order of its lines
    sag_mm: ndarray | None = None  # float64 (t,): in the furnace, standing as it lies; None: not looked at

    @property
    def stopped(self) -> bool:
        """True if the process cannot make it as it is."""
        return any(finding.level == "stop" for finding in self.findings)
