"""A part that was looked at: healed, measured, with findings."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.good import good
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
    digest: str  # of the file it came from
    shape: Shape  # healed, scaled and turned as asked; nominal size [mm]
    volume_mm3: float
    area_mm2: float
    extent_mm: tuple[float, float, float]
    thickest_mm: float  # largest wall, for debinding: diameter of the largest ball that fits inside
    turns: ndarray  # float64 (t, 3, 3): allowed orientations as rotations, first = as filed
    healed: tuple[str, ...]  # what was mended, in words; empty if nothing
    findings: tuple[Finding, ...]
    unpacking: Unpacking | None = None  # None: not looked at
    sag_mm: ndarray | None = None  # float64 (t,): in the furnace, standing as it lies; None: not looked at

    @property
    def stopped(self) -> bool:
        """True if the process cannot make it as it is."""
        return any(finding.level == "stop" for finding in self.findings)
