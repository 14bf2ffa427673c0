"""From card and lot to the bed that is spread: packing, green density, grains, and how sure they are."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

from sagger.goods.bed import Bed
from sagger.goods.figure import Figure, weakest
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.physics.powder import flow, grains, packing, spread_bed
from sagger.stations.bed import lot_findings
from sagger.stations.bed.own_grains import moved
from sagger.statistics import chance

# A layer is spread looser than the powder taps and closer than it pours: anywhere between (common practice,
# no source). Where only one of the two is known, the other is at most this many times away (USP <1174>,
# Hausner ratio up to the class "passable").
PASSABLE = 1.34
MODEL_U = 0.015  # of the linear model against computed packings of balls (tests/published/packing.toml)
# What a size curve leaves open of a bed: shape, satellites, moisture. Beds of like curves pack from 0.45 to
# 0.61 (Choong and others 2022; a thesis on laser melting of 316L), taken as even.
CURVE_U = 0.05


class KnownPacking(NamedTuple):
    """A packing, and what it rests on."""

    packing: float
    u: float
    basis: str
    standing: str


def spread(powder: Powder, lot: Lot | None, choices: Choices) -> Bed:
    """The bed that a lot makes; without a lot, the one that the card states.

    Parameters
    ----------
    powder : Powder
        The card.
    lot : Lot or None
        What was measured on the powder on the shelf. The best of what it has is used: coupons printed from
        it, its apparent and tap density, one of the two, its size curve alone.
    choices : Choices
        `layer_um` unless the card's layer is taken.

    Returns
    -------
    Bed
        Its `powder` is the card with the lot's own grains, packing, green density, solid density and price,
        and with the sintering law of grains of that size.

    Raises
    ------
    LawError
        If densities or curve make no sense together.

    Source
    ------
    Linear packing model (physics/powder/packing.py); a bed between poured and tapped is common practice.
    """
    lotted = _grains(powder, lot)
    sizes, shares = _classes(lotted, lot.curve if lot else None)
    models = _foretold(powder, sizes, shares)
    known = _packing(powder, lotted, lot, models)
    ratio = 1.0 if powder.sintering is None else powder.sintering.green_density.value / powder.packing.value
    green = _green(powder, lot, known, ratio)
    bed = Bed(
        lot=lot.name if lot else "",
        powder=_as_lot(lotted, lot, known, green) if lot else powder,
        basis=known.basis,
        standing=known.standing,
        packing=known.packing,
        packing_u=known.u,
        green=green.packing,
        green_u=green.u,
        alone=spread_bed.calibrated(sizes, shares, known.packing),
        models=models,
        d99=_reached(lot.curve, 0.99) if lot and lot.curve else None,
        hausner=flow.hausner(*pair) if (pair := _densities(lot)) else None,
        flow=flow.flow_class(*pair) if pair else "",
        findings=(),
    )
    return dataclasses.replace(bed, findings=lot_findings.noticed(bed, powder, lot, choices))


def _packing(powder: Powder, lotted: Powder, lot: Lot | None, models: lot_findings.Models) -> KnownPacking:
    """Packing of the spread bed, from the best that is known of the lot."""
    card = powder.packing
    if lot is None:
        return KnownPacking(card.value, card.u, "the powder card", card.standing)
    solid = lotted.solid_density
    if lot.green_density is not None:
        ratio = card.value / powder.sintering.green_density.value if powder.sintering else 1.0
        figure = lot.green_density
        return KnownPacking(
            figure.value * ratio, figure.u * ratio, "coupons printed from the lot", figure.standing
        )
    tap, apparent = lot.tap_density, lot.apparent_density
    if tap is not None or apparent is not None:
        return _between(apparent, tap, solid)
    if lot.curve is not None:
        values = [value for _, value in models]
        spread = chance.rectangular((max(values) - min(values)) / 2)
        u = chance.combined((card.u * models[0][1] / card.value, spread, MODEL_U, CURVE_U))
        return KnownPacking(models[0][1], u, "the lot's size curve, calibrated on the card", weakest(card))
    return KnownPacking(card.value, card.u, "the powder card: nothing was measured on the lot", card.standing)


def _between(apparent: Figure | None, tap: Figure | None, solid: Figure) -> KnownPacking:
    """Between poured and tapped; with only one known the other is taken from the flow classes."""
    given = [figure for figure in (apparent, tap) if figure is not None]
    low = apparent.value if apparent else given[0].value / PASSABLE
    high = tap.value if tap else given[0].value * PASSABLE
    names = [name for name, figure in (("apparent", apparent), ("tap", tap)) if figure is not None]
    middle = (low + high) / 2
    measured = chance.combined([figure.u / 2 for figure in given])
    u = chance.combined((chance.rectangular((high - low) / 2), measured, solid.u * middle / solid.value))
    basis = f"{' and '.join(names)} density of the lot, the bed anywhere between poured and tapped"
    return KnownPacking(middle / solid.value, u / solid.value, basis, weakest(*given, solid))


def _green(powder: Powder, lot: Lot | None, bed: KnownPacking, ratio: float) -> KnownPacking:
    """Green density: as coupons say, as the card says, or the bed's by the ratio that the card has."""
    card = powder.sintering
    if lot is not None and lot.green_density is not None:
        figure = lot.green_density
        return KnownPacking(figure.value, figure.u, bed.basis, figure.standing)
    if card is not None and bed.basis.startswith("the powder card"):
        figure = card.green_density
        return KnownPacking(figure.value, figure.u, bed.basis, figure.standing)
    return bed._replace(packing=bed.packing * ratio, u=bed.u * ratio)


def _foretold(powder: Powder, sizes: list[float], shares: list[float]) -> lot_findings.Models:
    """Packing by each model, its one size alone calibrated on the card's own grains and packing."""
    own = _classes(powder, None)
    made = []
    for name, law in spread_bed.MODELS.items():
        alone = spread_bed.calibrated(*own, powder.packing.value, name)
        made.append((name, law(sizes, shares, alone)))
    return tuple(made)


def _classes(powder: Powder, curve: SizeCurve | None) -> tuple[list[float], list[float]]:
    """Classes of a curve, or of the lognormal grains that d10, d50 and d90 stand for."""
    if curve is not None:
        sizes, shares = spread_bed.classes(curve.size.tolist(), curve.finer.tolist())
        return sizes, shares
    law = grains.lognormal(powder.d10.value, powder.d90.value, powder.d50.value)
    over, parts = packing.lognormal_classes(law.sigma)
    return (law.median * over).tolist(), parts.tolist()


def _grains(powder: Powder, lot: Lot | None) -> Powder:
    """The card with the lot's solid density and the percentiles of its curve."""
    if lot is None:
        return powder
    solid = lot.solid_density or powder.solid_density
    if lot.curve is None:
        return dataclasses.replace(powder, solid_density=solid)
    where = f"{lot.curve.method} of the lot, interpolated in ln size"
    sizes = [
        grains.percentile(lot.curve.size.tolist(), lot.curve.finer.tolist(), share)
        for share in (0.1, 0.5, 0.9)
    ]
    d10, d50, d90 = (_figure(size, 0.0, f"{size * 1e6:.3g} um", lot, where, "measured") for size in sizes)
    return dataclasses.replace(powder, solid_density=solid, d10=d10, d50=d50, d90=d90)


def _as_lot(lotted: Powder, lot: Lot, bed: KnownPacking, green: KnownPacking) -> Powder:
    """The card with packing, green density and price of the lot as well."""
    taken = _figure(bed.packing, bed.u, f"{bed.packing:.3f} -", lot, bed.basis, bed.standing)
    sintering = lotted.sintering
    if sintering is not None:
        own = _figure(green.packing, green.u, f"{green.packing:.3f} -", lot, green.basis, green.standing)
        sintering = dataclasses.replace(sintering, green_density=own)
        sintering = moved(sintering, lotted.d50) if lot.curve else sintering
    return dataclasses.replace(lotted, packing=taken, sintering=sintering, price=lot.price or lotted.price)


def _figure(value: float, u: float, printed: str, lot: Lot, where: str, standing: str) -> Figure:
    return Figure(value=value, u=u, printed=printed, source=f"lot {lot.name}", where=where, standing=standing)


def _densities(lot: Lot | None) -> tuple[float, float] | None:
    if lot is None or lot.apparent_density is None or lot.tap_density is None:
        return None
    return lot.apparent_density.value, lot.tap_density.value


def _reached(curve: SizeCurve, share: float) -> float | None:
    if float(curve.finer[-1]) < share:
        return None
    return grains.percentile(curve.size.tolist(), curve.finer.tolist(), share)
