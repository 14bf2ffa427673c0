"""A proposal and the map of a bed: lines, a document, pictures."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.good import good
from sagger.goods.learned import AxisLearned, BedMap, BleedLearned, FactorProposal, Scatter
from sagger.stations.measure.bed_map import Uniformity
from sagger.views.charts import plot
from sagger.views.wording import share

SOURCES = (
    ("lot", "lot"),
    ("bed", "place in the bed"),
    ("furnace", "place in the furnace"),
    ("part", "part to part"),
)
VERDICTS = {
    "change": "change",
    "keep": "keep: the difference lies inside the dead band",
    "look": "change, but look: it lies more than two standard deviations from what was in force",
    "blocked": "blocked: it lies more than three standard deviations from what was in force",
}
SURE = 2.0  # standard uncertainties between what was found and what was taken; common practice, no source
_CELLS = 24


@good
class ProposalDocument:
    """A proposal, lengths in mm."""

    schema: str = "sagger-proposal/1"
    entry: int  # of the book
    material: str
    box: str
    k: ndarray
    u: ndarray
    axes: tuple[AxisLearned, ...]
    scatter: Scatter
    one_factor_mm: float  # scatter of a length in one box with one factor
    by_place_mm: float  # and with factors by place
    length_mm: float
    notes: tuple[str, ...]
    readings: tuple[int, ...]
    bleed: BleedLearned | None = None  # from bores against outsides; None where no line of a drawing was read


def document(proposal: FactorProposal, number: int) -> ProposalDocument:
    """The proposal of an entry."""
    return ProposalDocument(
        entry=number,
        material=proposal.material,
        box=proposal.box,
        k=proposal.factors.k,
        u=proposal.factors.u,
        axes=proposal.axes,
        scatter=proposal.scatter,
        one_factor_mm=proposal.before_scatter_mm,
        by_place_mm=proposal.place_scatter_mm,
        length_mm=proposal.length_mm,
        notes=proposal.notes,
        readings=proposal.readings,
        bleed=proposal.bleed,
    )


def lines(proposal: FactorProposal, number: int) -> list[str]:
    """What was found, what is proposed, and what it would buy."""
    text = [f"proposal {number}: {proposal.material}, from {len(proposal.readings)} readings"]
    for axis in proposal.axes:
        text += _axis(axis)
    text += _bleed(proposal.bleed) if proposal.bleed else []
    text.append(_scatter(proposal.scatter))
    if proposal.bed is not None:
        text.append(
            f"a length of {proposal.length_mm:g} mm scatters in one box by "
            f"{proposal.before_scatter_mm:.3f} mm with one factor, by {proposal.place_scatter_mm:.3f} mm "
            f"with factors by place"
        )
    text += [f"note: {note}" for note in proposal.notes]
    text.append(f"nothing is in force yet: `sagger learn approve {number} --person ... --reason ...`")
    return text


def _axis(axis: AxisLearned) -> list[str]:
    offset = ""
    if axis.offset_mm:
        offset = f", offset {axis.offset_mm:+.4f} ± {axis.offset_u_mm:.4f} mm"
    return [
        f"  {axis.axis}: found {axis.found:.5f} ± {axis.found_u:.5f} ({axis.pieces} pieces, "
        f"{axis.freedom:.0f} degrees of freedom){offset}; in force {axis.before:.5f} ± {axis.before_u:.5f}",
        f"     {VERDICTS[axis.verdict]}; proposed {axis.k:.5f} ± {axis.u:.5f}, weight of the new "
        f"{axis.weight:.2f}: a stable process corrected so each time would vary "
        f"{axis.inflation:.2f} times as much",
    ]


def to_print(bleed: BleedLearned) -> str:
    """What an order should say of bleed, with the factors that were found beside it."""
    return f'these factors hold with bleed = "{bleed.found_mm * 1e3:.0f} um" in the order'


def _bleed(bleed: BleedLearned) -> list[str]:
    most_likely, u, taken = (f"{value * 1e3:.1f}" for value in (bleed.found_mm, bleed.u_mm, bleed.taken_mm))
    apart = abs(bleed.found_mm - bleed.taken_mm) / bleed.u_mm if bleed.u_mm else 0.0
    verdict = "as compensated" if apart <= SURE else f"not as compensated: {to_print(bleed)}"
    text = [
        f"  bleed: found {most_likely} ± {u} um as printed (p = {bleed.p:.2g}), from {bleed.bores} bores, "
        f"{bleed.outsides} outsides and {bleed.steps} lengths that it does not move",
        f"     outlines were drawn inside by {taken} um, {verdict}",
    ]
    if bleed.soaking_mm is not None and bleed.soaking_u_mm is not None:
        soaked, doubt = (f"{value * 1e3:.1f}" for value in (bleed.soaking_mm, bleed.soaking_u_mm))
        text.append(f"  soaking: found {soaked} ± {doubt} um below undersides")
    return text


def _scatter(scatter: Scatter) -> str:
    parts = [f"{words} {share(getattr(scatter, name), 3)}" for name, words in SOURCES]
    return f"scatter of a length: {', '.join(parts)}; gauge {scatter.gauge_mm:.3f} mm"


def bed_lines(bed: BedMap, even: Uniformity) -> list[str]:
    """How even a bed is."""
    slopes = ", ".join(
        f"{axis} {share(float(slope), 2)}" for axis, slope in zip("xyz", even.slopes, strict=True)
    )
    return [
        f"{bed.material} in {bed.box}: {len(bed.density)} places, green density {share(even.mean, 2)}",
        f"spread {share(even.spread, 2)} of it, largest deviation {share(even.most, 2)}; "
        f"from wall to wall: {slopes}; the map is sure to {share(even.u, 2)}",
        f"that is {share(even.most / 3, 2)} of a finished length",
    ]


def bed_picture(bed: BedMap, box: Box, seen: ndarray, at_mm: ndarray) -> str:
    """Green density over the mean, from above, with the places where it was measured; SVG."""
    size = (box.length_x.value * 1e3, box.length_y.value * 1e3)
    frame = plot.Frame((0.0, size[0]), (0.0, size[1]), 620, 96 + 520 * size[1] / size[0])
    over = 100 * (seen / seen.mean() - 1)
    most = float(np.abs(over).max()) or 1.0
    step = (size[0] / _CELLS, size[1] / _CELLS)
    body = [
        plot.cell(frame, (x, x + step[0]), (y, y + step[1]), _tone(value / most))
        for value, (x, y) in zip(over, at_mm[:, :2] - np.array(step) / 2, strict=True)
    ]
    body.append(plot.axes(frame, f"green density over the mean, ± {most:.2f} %", "x, mm", "y, mm"))
    body.append(plot.dots(frame, bed.places_mm[:, 0].tolist(), bed.places_mm[:, 1].tolist()))
    for (x, y, _), density in zip(bed.places_mm.tolist(), bed.density.tolist(), strict=True):
        word = f"{100 * (density / bed.reference - 1):+.2f}".replace("-", "\N{MINUS SIGN}")
        body.append(plot.text(frame.across(x), frame.up(y) - 6, word, _anchor(x, size[0]), 'font-size="11"'))
    return plot.svg(frame, body)


def grid(box: Box, height_mm: float) -> ndarray:
    """Middles of the cells of a picture from above, float64 (n, 3) [mm]."""
    at = (np.arange(_CELLS) + 0.5) / _CELLS
    x, y = np.meshgrid(at * box.length_x.value * 1e3, at * box.length_y.value * 1e3)
    return np.column_stack([x.ravel(), y.ravel(), np.full(x.size, height_mm)])


def _anchor(x: float, wide: float) -> str:
    return "start" if x < 0.15 * wide else "end" if x > 0.85 * wide else "middle"


def _tone(value: float) -> str:
    """Blue where packed looser, orange where denser, white in the middle."""
    end = np.array([214, 120, 30]) if value > 0 else np.array([40, 105, 170])
    mixed = 255 + (end - 255) * min(1.0, abs(value)) * 0.85
    return "#" + "".join(f"{round(part):02x}" for part in mixed)
