"""How one box is unpacked, and how much powder comes back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from sagger.goods.depowdering import Cleaning, Depowdering
from sagger.goods.dose import Dose
from sagger.goods.figure import STANDINGS
from sagger.goods.finding import Finding
from sagger.goods.layout import Layout
from sagger.goods.part import Unpacking
from sagger.goods.powder import Powder
from sagger.physics import chance

MARGIN = 3.0  # green strength over stress that a means of cleaning asks for; common practice, no source
SLIM = 10.0  # ways longer than so many of their widths empty badly; common practice, no source


def plan(layout: Layout, dose: Dose, powder: Powder) -> Depowdering:
    """What unpacking one box takes and gives.

    Parameters
    ----------
    layout : Layout
        The pieces, with what intake found about the way out of each part's powder; and the box card.
    dose : Dose
        Mass balance of the box.
    powder : Powder

    Returns
    -------
    Depowdering
        Powder in pockets is counted as coming back, trapped powder is not. The card's loss counts as sieve
        and dust only. Uncertainty from packing and loss, as far as the card states theirs.

    Source
    ------
    Mass balance: loose powder less what is lost and what stays in pieces.
    """
    cleanings = tuple(_cleanings(layout, powder))
    trapped = sum(each.pieces * each.trapped for each in cleanings)
    trapped = min(trapped, dose.powder_loose - dose.powder_lost)
    cake = dose.powder_loose - dose.powder_lost - trapped
    packed = cake * powder.packing.u / powder.packing.value
    box = layout.box
    litres = box.length_x.value * box.length_y.value * layout.height_mm  # m2 mm
    return Depowdering(
        hands_on=box.depowder_time.value * litres,
        cake=cake,
        cake_u=chance.combined((packed, dose.powder_loose * powder.loss.u)),
        overfed=max(0.0, dose.powder_fed - dose.powder_in_box),
        trapped=trapped,
        pockets=sum(each.pieces * each.pockets for each in cleanings),
        lost=dose.powder_lost,
        standing=_weakest(powder),
        cleanings=cleanings,
        findings=tuple(_findings(layout, cleanings)),
    )


def _cleanings(layout: Layout, powder: Powder) -> Iterator[Cleaning]:
    """One per part, in the order of the parts."""
    here = Counter(piece.part for piece in layout.pieces)
    bed = powder.packing.value * powder.solid_density.value
    for part in sorted(here):
        green = layout.greens[part]
        met = green.part.unpacking
        grown = abs(float(np.linalg.det(green.maps[0]))) * 1e-9 * bed  # mass per volume of the finished part
        yield Cleaning(
            part=part,
            pieces=here[part],
            means=_means(met),
            trapped=met.trapped_mm3 * grown if met else 0.0,
            pockets=met.pockets_mm3 * grown if met else 0.0,
            slimness=met.slimness if met else 0.0,
            openings=met.openings if met else 0,
        )


def _means(met: Unpacking | None) -> str:
    """The strongest means that the part's weakest wall bears."""
    if met is None:
        return "not looked at"
    if met.weight_margin < MARGIN:
        return "support first"
    if met.air_margin < MARGIN:
        return "neither brush nor jet"
    return "air, no brush" if met.brush_margin < MARGIN else "brush and air"


def _weakest(powder: Powder) -> str:
    """Standing of the weakest figure that the masses rest on."""
    figures = (powder.packing, powder.solid_density, powder.loss)
    return max((figure.standing for figure in figures), key=STANDINGS.index)


def _findings(layout: Layout, cleanings: tuple[Cleaning, ...]) -> Iterator[Finding]:
    for each in cleanings:
        name = layout.greens[each.part].part.request.name
        if each.trapped:
            grams = each.trapped * 1e3
            yield Finding(
                level="look",
                what="powder stays",
                text=f"{grams:.3g} g stay in each of {each.pieces} {name}, and are fired or cast with it.",
                value=grams * each.pieces,
                limit=0.0,
                unit="g",
                source="volume of the hollows at green size times the bed's density",
                remedy="Weigh each piece against its volume, or open the hollow.",
            )
        if each.slimness > SLIM:
            yield Finding(
                level="look",
                what="long way out",
                text=f"{each.pockets * 1e3:.3g} g leave each {name} by ways up to {each.slimness:.2g} widths "
                "long.",
                value=each.slimness,
                limit=SLIM,
                unit="-",
                source="common practice, no source",
                remedy="Blow, turn and tap each piece; a wire or a light shows whether the way is free.",
            )
