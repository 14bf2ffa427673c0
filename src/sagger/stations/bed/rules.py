"""What a lot is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from sagger.goods.bed import Bed
from sagger.goods.finding import Finding
from sagger.goods.lot import Lot
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.physics import chance
from sagger.units import into

Findings = tuple[Finding, ...]
Models = tuple[tuple[str, float], ...]
COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
FREE = 1.25  # Hausner ratio up to the class "fair" (USP <1174>); above it grains stick
PRACTICE = "common practice, no source"
IDEAL = (
    "Packing models know no sticking: of a real bimodal copper powder a gain of 8 % was published "
    "(Bai, Wagner, Williams 2017, abstract), less than they say."
)


def noticed(bed: Bed, powder: Powder, lot: Lot | None, choices: Choices) -> Findings:
    """Findings about a lot; none where the card stands for it."""
    if lot is None:
        return ()
    return (
        *_strange(powder, lot),
        _against_card(bed, powder),
        *_against_curve(bed, lot),
        *_flows(bed),
        *_coarsest(bed, powder, choices),
        *_unmeasured(lot),
    )


def _strange(powder: Powder, lot: Lot) -> Findings:
    if lot.powder == powder.name:
        return ()
    return (
        Finding(
            level="stop",
            what="lot of another powder",
            text=f"Lot {lot.name} is of {lot.powder}; the cell is set for {powder.name}.",
            source="lot",
            remedy="Choose the lot's powder card, or another lot.",
        ),
    )


def _against_card(bed: Bed, powder: Powder) -> Finding:
    """What the lot changes of the density that the part is fired from."""
    card = powder.sintering.green_density if powder.sintering else powder.packing
    length = (bed.green / card.value) ** (1 / 3) - 1
    name = "green density" if powder.sintering else "packing"
    text = f"Lot {bed.lot}: {name} {bed.green:.1%} (u {bed.green_u:.1%}), the card states {card.value:.1%}"
    if powder.sintering:
        text += f"; lengths after firing to one density differ by {length:+.2%}"
    return Finding(
        level="ok",
        what=name,
        text=f"{text}. It rests on {bed.basis} ({bed.standing}).",
        value=100 * bed.green,
        limit=100 * card.value,
        unit="%",
        source=f"{card.source}, {card.where} ({card.standing})",
        remedy="" if bed.basis.startswith("coupons") else "Print coupons from the lot to narrow it.",
    )


def _against_curve(bed: Bed, lot: Lot) -> Findings:
    """Measured packing against what the curve alone would have given."""
    if lot.curve is None or bed.basis.startswith("the "):
        return ()
    values = [value for _, value in bed.models]
    linear = values[0]
    u = chance.combined((bed.packing_u, 0.5 * (max(values) - min(values)), 0.015))
    if abs(linear - bed.packing) <= COVERAGE * u:
        return ()
    return (
        Finding(
            level="look",
            what="packing against size curve",
            text=f"The lot packs to {bed.packing:.1%}; its size curve, calibrated on the card, asks for "
            f"{linear:.1%}.",
            value=100 * bed.packing,
            limit=100 * linear,
            unit="%",
            source="linear packing model, Yu, Zou, Standish 1996",
            remedy="Weigh tap and apparent density again; moisture, satellites or sticking also do this.",
        ),
    )


def _flows(bed: Bed) -> Findings:
    if bed.hausner is None:
        return ()
    sticks = bed.hausner > FREE
    text = f"Hausner ratio {bed.hausner:.2f}, Carr index {1 - 1 / bed.hausner:.0%}: flow {bed.flow}."
    if sticks:
        text += f" Grains stick, so layers may tear and lie uneven. {IDEAL}"
    return (
        Finding(
            level="look" if sticks else "ok",
            what="flow",
            text=text,
            value=bed.hausner,
            limit=FREE,
            unit="-",
            source="USP <1174>",
            remedy="Dry the powder, spread more slowly, or blend in a coarser cut." if sticks else "",
        ),
    )


def _coarsest(bed: Bed, powder: Powder, choices: Choices) -> Findings:
    layer = choices.layer_um if choices.layer_um is not None else into(powder.layer.value, "um")
    if bed.d99 is None or layer >= into(bed.d99, "um"):
        return ()
    most = into(bed.d99, "um")
    return (
        Finding(
            level="look",
            what="layer under d99",
            text=f"One grain in a hundred, by mass, is coarser than {most:.0f} um; a layer of {layer:.0f} um "
            "may show streaks.",
            value=layer,
            limit=most,
            unit="um",
            source=PRACTICE,
            remedy=f"Sieve the lot finer, or use layers of {most:.0f} um or more.",
        ),
    )


def _unmeasured(lot: Lot) -> Findings:
    if lot.green_density or lot.tap_density or lot.apparent_density:
        return ()
    return (
        Finding(
            level="look",
            what="lot without a density",
            text=f"No density was measured on lot {lot.name}. {IDEAL}",
            source=PRACTICE,
            remedy="Measure tap and apparent density (ISO 3953, ISO 3923-1), or print coupons.",
        ),
    )
