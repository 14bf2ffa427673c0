"""How one box is unpacked, and how much powder comes back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from sagger.goods.box import Box
from sagger.goods.depowdering import Cleaning, Depowdering
from sagger.goods.dose import Dose
from sagger.goods.figure import weakest
from sagger.goods.finding import PRACTICE, Against, Finding, about, advice, risk
from sagger.goods.layout import Layout
from sagger.goods.part import Unpacking
from sagger.goods.powder import Powder
from sagger.statistics import chance

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
    Mass balance: loose powder less what is lost and what stays in pieces. Hands-on time: litres of cake,
    pieces as careful as their walls ask, and ways that powder has to leave by, each by a figure of the box
    card.
    """
    cleanings = tuple(_cleanings(layout, powder))
    trapped = sum(cleaning.pieces * cleaning.trapped for cleaning in cleanings)
    trapped = min(trapped, dose.powder_loose - dose.powder_lost)
    cake = dose.powder_loose - dose.powder_lost - trapped
    packed = cake * powder.packing.u / powder.packing.value
    box = layout.box
    litres = box.length_x.value * box.length_y.value * layout.height_mm  # m2 mm
    return Depowdering(
        hands_on=box.depowder_time.value * litres + sum(each.pieces * each.hands_on for each in cleanings),
        cake=cake,
        cake_u=chance.combined((packed, dose.powder_loose * powder.loss.u)),
        overfed=max(0.0, dose.powder_fed - dose.powder_in_box),
        trapped=trapped,
        pockets=sum(cleaning.pieces * cleaning.pockets for cleaning in cleanings),
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
        means = _means(met)
        grown = abs(float(np.linalg.det(green.maps[0]))) * 1e-9 * bed  # mass per volume of the finished part
        yield Cleaning(
            part=part,
            pieces=here[part],
            means=means,
            trapped=met.trapped_mm3 * grown if met else 0.0,
            pockets=met.pockets_mm3 * grown if met else 0.0,
            slimness=met.slimness if met else 0.0,
            openings=met.openings if met else 0,
            hands_on=_hands_on(layout.box, means, met.openings if met else 0),
        )


def _hands_on(box: Box, means: str, openings: int) -> float:
    """Cleaning one piece: lift, brush and blow, slower where weak; and its powder's ways out [s]."""
    slower = {"air, no brush": box.soft_jet_times, "neither brush nor jet": box.by_hand_times}
    times = slower.get(means, box.by_hand_times if means == "support first" else None)
    careful = times.value if times else 1.0
    piece, channel = (each.value if each else 0.0 for each in (box.piece_time, box.channel_time))
    return piece * careful + channel * openings


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
    return weakest(*figures, least="read")


def _findings(layout: Layout, cleanings: tuple[Cleaning, ...]) -> Iterator[Finding]:
    for cleaning in cleanings:
        name = layout.greens[cleaning.part].part.request.name
        if cleaning.trapped:
            grams = cleaning.trapped * 1e3
            text = f"{grams:.3g} g stay in each of {cleaning.pieces} {name}, and are fired or cast with it."
            hollows = "volume of the hollows at green size times the bed's density"
            against = Against(grams * cleaning.pieces, 0.0, "g", hollows)
            remedy = "Weigh each piece against its volume, or open the hollow."
            yield about(cleaning.part, risk("powder stays", text, against, remedy))
        if cleaning.slimness > SLIM:
            grams, widths = cleaning.pockets * 1e3, f"{cleaning.slimness:.2g} widths"
            text = f"{grams:.3g} g leave each {name} by ways up to {widths} long."
            remedy = "Blow, turn and tap each piece; a wire or a light shows whether the way is free."
            against = Against(cleaning.slimness, SLIM, "-", PRACTICE)
            yield about(cleaning.part, advice("long way out", text, against, remedy))
