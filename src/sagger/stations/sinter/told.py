"""What is said of a part that was followed through the furnace."""

from __future__ import annotations

import numpy as np

from sagger.errors import LawError
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.sag import Misfit
from sagger.physics import tolerance
from sagger.stations.sinter.rounds import Bent

SHARE = 0.5  # of the tolerance that shape may take; the rest is for scatter of size


def allowed_mm(green: Green) -> float | None:
    """Half width of the tolerance at the height the part has on its setter [mm]; None where none is given."""
    turned = np.asarray(green.part.shape.vertices) @ green.part.turns[0].T
    return tolerance.half_width_mm(float(np.ptp(turned[:, 2])), green.part.request.tolerance)


def against_tolerance(green: Green, bent: Bent, after: Misfit) -> Finding:
    """How far off the part comes out, and how much of its tolerance that takes."""
    name, before, allowed = green.part.request.name, bent.before, allowed_mm(green)
    helped = after.rms_mm < before.rms_mm
    left = after if helped else before
    text = f"{name} would come out up to {before.most_mm:.2f} mm off nominal (rms {before.rms_mm:.3f} mm); "
    if helped:
        text += (
            f"pre-deformed, up to {left.most_mm:.2f} mm (rms {left.rms_mm:.3f} mm, {left.fit_rms_mm:.3f} mm "
            "after best fit) by the same law on a grid it was not bent on."
        )
    else:
        text += "bending it does not help, so it is printed as it is."
    within = allowed is None or left.most_mm <= SHARE * allowed
    if allowed is not None:
        text += f" That is {left.most_mm / allowed:.0%} of the ±{allowed:.2g} mm asked at its height."
    if helped and not bent.flat:
        text += " Its feet tilt as it sags, so they are printed tilted and stand on their edges at first."
    return Finding(
        level="ok" if within else "look",
        what="sag by finite elements",
        text=f"{text} What the card does not know comes on top.",
        value=left.most_mm,
        limit=None if allowed is None else SHARE * allowed,
        unit="mm",
        source="viscous law on the powder card; half of the tolerance for shape: common practice, no source",
        remedy=""
        if within
        else "Support the part or turn it, ask for a wider tolerance, or choose the fine grid.",
    )


def by_slope(green: Green, moved: Misfit, kelvin: float) -> Finding:
    """What temperature that differs over the part does to its shape; which end is hotter, nobody knows."""
    allowed = allowed_mm(green)
    within = allowed is None or moved.most_mm <= SHARE * allowed
    return Finding(
        level="ok" if within else "look",
        what="temperature over the part",
        text=f"{kelvin:.1f} K along {green.part.request.name}, as the furnace's scatter over a tray allows, "
        f"moves its surface by up to {moved.most_mm:.3f} mm (rms {moved.rms_mm:.3f} mm). It is not bent "
        "against that.",
        value=moved.most_mm,
        limit=None if allowed is None else SHARE * allowed,
        unit="mm",
        source="viscous law on the powder card, uniformity on the furnace card",
        remedy="" if within else "Survey the furnace and stand the part where it is even; hold longer.",
    )


def not_followed(error: LawError) -> Finding:
    """Why there is no answer."""
    return Finding(
        level="stop",
        what="not followed through the furnace",
        text=f"{str(error)[0].upper()}{str(error)[1:].rstrip('.')}.",
        source="viscous law on the powder card",
        remedy="Support the part or turn it, or order it by oversize factors alone.",
    )


def inside_out(green: Green) -> Finding:
    """That the surface encloses nothing."""
    return Finding(
        level="stop",
        what="folded surface",
        text=f"The surface of {green.part.request.name} is inside out or folded: it encloses "
        f"{green.part.volume_mm3:.3g} mm3.",
        value=green.part.volume_mm3,
        limit=0.0,
        unit="mm3",
        source="geometry",
        remedy="Mend the part file, or order by oversize factors alone.",
    )
