"""Which second cut, at which share, packs closer with a lot, and by how much."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from sagger.errors import InputError
from sagger.goods.bed import Bed
from sagger.goods.blend import Blend, Mixed
from sagger.goods.finding import PRACTICE, Against, Finding, advice, ok, stop
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.physics.powder import grains, spread_bed
from sagger.stations.bed.lot_findings import IDEAL
from sagger.stations.bed.spreading import MODEL_U, spread
from sagger.statistics import chance
from sagger.tick import Tick, silent
from sagger.units import into

RATIOS = (0.1, 1 / 7, 0.2, 1 / 3, 0.5, 2.0, 3.0)  # imagined cuts, of the lot's median
STICKS = 10e-6  # grains below it stick to each other and to all else [m]; common practice, no source


class _Second(NamedTuple):
    name: str
    curve: SizeCurve
    alone: float
    imagined: bool  # or none of its densities measured


def blend(
    powder: Powder, base: Lot, cuts: tuple[Lot, ...], choices: Choices, *, tick: Tick = silent
) -> Blend:
    """What second cuts would do to a lot; imagined ones of its own width if none is given.

    Parameters
    ----------
    powder : Powder
        The card of all of them.
    base : Lot
        With its size curve.
    cuts : tuple of Lot
        Lots that may be blended in, each with its size curve; a cut with densities of its own is calibrated
        on them, one without packs alone as the base does.
    choices : Choices
        `layer_um` unless the card's layer is taken.

    Returns
    -------
    Blend
        Each cut at the share that packs closest by the linear model, with what the other models say there.

    Raises
    ------
    InputError
        If a lot has no size curve or is of another powder.

    Source
    ------
    `spread_bed.best_blend`; finished lengths go with the cube root of the packing.
    """
    bed = _known(powder, base, choices)
    assert base.curve is not None
    first = _cut(base.curve, bed.alone)
    seconds = [_measured(powder, cut, choices, bed.alone) for cut in cuts] or _imagined(base.curve, bed.alone)
    layer = choices.layer_um * 1e-6 if choices.layer_um is not None else powder.layer.value
    mixed = [
        _mixed(bed, base.curve, first, second, layer) for second in tick.over(seconds, "trying second cuts")
    ]
    return Blend(
        base=base.name,
        packing=bed.packing,
        packing_u=bed.packing_u,
        layer=layer,
        mixed=tuple(sorted(mixed, key=lambda each: -each.packing)),
    )


def _known(powder: Powder, lot: Lot, choices: Choices) -> Bed:
    if lot.curve is None:
        wrong = f"lot {lot.name} has no size curve, so nothing is known of its blends"
        raise InputError(wrong, field="curve", remedy="Add its sieving or laser diffraction.")
    if lot.powder != powder.name:
        wrong = f"lot {lot.name} is of {lot.powder}, not of {powder.name}"
        raise InputError(wrong, field="powder", remedy="Blend lots of one powder.")
    return spread(powder, lot, choices)


def _measured(powder: Powder, lot: Lot, choices: Choices, usual: float) -> _Second:
    bed = _known(powder, lot, choices)
    assert lot.curve is not None
    weighed = lot.green_density or lot.tap_density or lot.apparent_density
    return _Second(lot.name, lot.curve, bed.alone if weighed else usual, imagined=not weighed)


def _imagined(curve: SizeCurve, alone: float) -> list[_Second]:
    """Cuts as wide as the lot, finer and coarser."""
    median = grains.percentile(curve.size.tolist(), curve.finer.tolist(), 0.5)
    made = []
    for ratio in RATIOS:
        moved = SizeCurve(size=curve.size * ratio, finer=curve.finer, method=curve.method)
        made.append(_Second(f"d50 {into(ratio * median, 'um'):.3g} um", moved, alone, imagined=True))
    return made


def _cut(curve: SizeCurve, alone: float) -> spread_bed.Cut:
    sizes, shares = spread_bed.classes(curve.size.tolist(), curve.finer.tolist())
    return spread_bed.Cut(sizes, shares, alone)


def _mixed(bed: Bed, curve: SizeCurve, first: spread_bed.Cut, second: _Second, layer: float) -> Mixed:
    other = _cut(second.curve, second.alone)
    best = spread_bed.best_blend(first, other)
    gains = tuple((name, _gain(first, other, best.share, name)) for name in spread_bed.MODELS)
    gain, values = gains[0][1], [value for _, value in gains]
    gain_u = chance.combined((chance.rectangular((max(values) - min(values)) / 2), MODEL_U / bed.packing))
    packing = bed.packing * (1 + gain)
    size, finer = grains.blended(
        [(curve.size, curve.finer), (second.curve.size, second.curve.finer)], [1 - best.share, best.share]
    )
    d50, d90 = (grains.percentile(size.tolist(), finer.tolist(), share) for share in (0.5, 0.9))
    fines = float(np.interp(np.log(STICKS), np.log(size), finer, left=0.0, right=1.0))
    return Mixed(
        name=second.name,
        share=best.share,
        packing=packing,
        packing_u=chance.combined((bed.packing_u * (1 + gain), bed.packing * gain_u)),
        gain=gain,
        gain_u=gain_u,
        gains=gains,
        length=float((1 + gain) ** (1 / 3) - 1),
        d50=d50,
        d90=d90,
        findings=(*_streaks(d90, layer), *_sticks(fines, best.share), *_hopeful(second, best.share)),
    )


def _gain(first: spread_bed.Cut, other: spread_bed.Cut, share: float, model: str) -> float:
    """Relative gain by a model, calibrated so that each cut alone packs as by the linear one."""
    calibrated = []
    for cut in (first, other):
        plain = spread_bed.MODELS["linear"](cut.sizes, cut.shares, cut.alone)
        calibrated.append(cut._replace(alone=spread_bed.calibrated(cut.sizes, cut.shares, plain, model)))
    one, two = calibrated
    return spread_bed.blended(one, two, share, model) / spread_bed.blended(one, two, 0.0, model) - 1


def _streaks(d90: float, layer: float) -> Iterator[Finding]:
    if layer >= d90:
        return
    yield stop(
        "layer under d90",
        f"The blend's d90 of {into(d90, 'um'):.0f} um is coarser than the layer.",
        Against(into(layer, "um"), into(d90, "um"), "um", PRACTICE),
        "Choose a finer cut, or thicker layers.",
    )


def _sticks(fines: float, share: float) -> Iterator[Finding]:
    if share == 0 or fines < 0.2:
        return
    yield advice(
        "fines stick",
        f"{fines:.0%} of the blend is finer than {into(STICKS, 'um'):.0f} um; it may not flow, and "
        "fine metal powder ignites more easily and reaches the lungs.",
        Against(100 * fines, 20.0, "%", PRACTICE),
        "Measure flow and packing of a trial blend. Follow the safety data sheet, local code and "
        "licensed practice.",
    )


def _hopeful(second: _Second, share: float) -> Iterator[Finding]:
    if share == 0:
        return
    text = IDEAL
    if second.imagined:
        text += (
            " A cut without a measured density is taken to pack alone like the lot; real fines pack looser."
        )
    yield ok("models know no sticking", text, Against(source="Bai, Wagner, Williams 2017"))
