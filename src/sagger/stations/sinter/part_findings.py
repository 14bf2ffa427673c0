"""What is said of a part that was followed through the furnace."""

from __future__ import annotations

import numpy as np

from sagger.errors import LawError
from sagger.goods.finding import PRACTICE, Against, Finding, risk, stop
from sagger.goods.green import Green
from sagger.goods.sag import Misfit
from sagger.stations.sinter.rounds import Bent
from sagger.statistics import tolerance

SHARE = 0.5  # of the tolerance that shape may take; the rest is for scatter of size
LAW = "viscous law on the powder card"


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
    source = f"{LAW}; half of the tolerance for shape: {PRACTICE}"
    return risk(
        "sag by finite elements",
        f"{text} What the card does not know comes on top.",
        Against(left.most_mm, None if allowed is None else SHARE * allowed, "mm", source),
        "Support the part or turn it, ask for a wider tolerance, or choose the fine grid.",
        unless=within,
    )


def by_slope(green: Green, moved: Misfit, kelvin: float) -> Finding:
    """What temperature that differs over the part does to its shape; which end is hotter, nobody knows."""
    allowed = allowed_mm(green)
    limit = None if allowed is None else SHARE * allowed
    return risk(
        "temperature over the part",
        f"{kelvin:.1f} K along {green.part.request.name}, as the furnace's scatter over a tray allows, "
        f"moves its surface by up to {moved.most_mm:.3f} mm (rms {moved.rms_mm:.3f} mm). It is not bent "
        "against that.",
        Against(moved.most_mm, limit, "mm", f"{LAW}, uniformity on the furnace card"),
        "Survey the furnace and stand the part where it is even; hold longer.",
        unless=limit is None or moved.most_mm <= limit,
    )


def not_followed(error: LawError) -> Finding:
    """Why there is no answer."""
    text = f"{str(error)[0].upper()}{str(error)[1:].rstrip('.')}."
    remedy = "Support the part or turn it, or order it by oversize factors alone."
    return stop("not followed through the furnace", text, Against(source=LAW), remedy)


def inside_out(green: Green) -> Finding:
    """That the surface encloses nothing."""
    return stop(
        "folded surface",
        f"The surface of {green.part.request.name} is inside out or folded: it encloses "
        f"{green.part.volume_mm3:.3g} mm3.",
        Against(green.part.volume_mm3, 0.0, "mm3", "geometry"),
        "Mend the part file, or order by oversize factors alone.",
    )
