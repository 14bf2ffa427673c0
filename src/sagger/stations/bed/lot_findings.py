"""What a lot is held against. Each rule answers with the findings it has, often none."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.bed import Bed
from sagger.goods.figure import cited_at
from sagger.goods.finding import PRACTICE, Against, Finding, advice, ok, risk, stop
from sagger.goods.lot import Lot
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.physics.sintering import scale
from sagger.statistics import chance
from sagger.units import into

Models = tuple[tuple[str, float], ...]
COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
FREE = 1.25  # Hausner ratio up to the class "fair" (USP <1174>); above it grains stick
IDEAL = (
    "Packing models know no sticking: of a real bimodal copper powder a gain of 8 % was published "
    "(Bai, Wagner, Williams 2017, abstract), less than they say."
)


def noticed(bed: Bed, powder: Powder, lot: Lot | None, choices: Choices) -> tuple[Finding, ...]:
    """Findings about a lot; none where the card stands for it."""
    if lot is None:
        return ()
    return (
        *_strange(powder, lot),
        _against_card(bed, powder),
        *_against_curve(bed, lot),
        *_own_law(bed, powder, lot),
        *_flows(bed),
        *_coarsest(bed, powder, choices),
        *_unmeasured(lot),
    )


def _strange(powder: Powder, lot: Lot) -> Iterator[Finding]:
    if lot.powder == powder.name:
        return
    yield stop(
        "lot of another powder",
        f"Lot {lot.name} is of {lot.powder}; the cell is set for {powder.name}.",
        Against(source="lot"),
        "Choose the lot's powder card, or another lot.",
    )


def _against_card(bed: Bed, powder: Powder) -> Finding:
    """What the lot changes of the density that the part is fired from."""
    card = powder.sintering.green_density if powder.sintering else powder.packing
    length = (bed.green / card.value) ** (1 / 3) - 1
    name = "green density" if powder.sintering else "packing"
    text = f"Lot {bed.lot}: {name} {bed.green:.1%} (u {bed.green_u:.1%}), the card states {card.value:.1%}"
    if powder.sintering:
        text += f"; lengths after firing to one density differ by {length:+.2%}"
    return ok(
        name,
        f"{text}. It rests on {bed.basis} ({bed.standing}).",
        Against(100 * bed.green, 100 * card.value, "%", cited_at(card)),
        "" if bed.basis.startswith("coupons") else "Print coupons from the lot to narrow it.",
    )


def _against_curve(bed: Bed, lot: Lot) -> Iterator[Finding]:
    """Measured packing against what the curve alone would have given."""
    if lot.curve is None or bed.basis.startswith("the "):
        return
    values = [value for _, value in bed.models]
    linear = values[0]
    u = chance.combined((bed.packing_u, 0.5 * (max(values) - min(values)), 0.015))
    if abs(linear - bed.packing) <= COVERAGE * u:
        return
    yield advice(
        "packing against size curve",
        f"The lot packs to {bed.packing:.1%}; its size curve, calibrated on the card, asks for {linear:.1%}.",
        Against(100 * bed.packing, 100 * linear, "%", "linear packing model, Yu, Zou, Standish 1996"),
        "Weigh tap and apparent density again; moisture, satellites or sticking also do this.",
    )


def _own_law(bed: Bed, powder: Powder, lot: Lot) -> Iterator[Finding]:
    """What the lot's own grains change of the law that it is fired by."""
    law = powder.sintering
    if lot.curve is None or law is None or law.grain_size is None or law.size_exponent is None:
        return
    over = bed.powder.d50.value / law.grain_size.value
    faster, u = 1 / scale.slower(over, law.size_exponent.value), scale.doubt(over, law.size_exponent.u)
    yield ok(
        "sintering of the lot's grains",
        f"Lot {bed.lot}: d50 {bed.powder.d50.printed}, the card's law belongs to {law.grain_size.printed}; "
        f"it densifies {faster:.2g} times as fast (u {u:.0%}), by Herring's scaling with the power "
        f"{law.size_exponent.value:g}, and the furnace's forecast counts that.",
        Against(bed.powder.d50.value * 1e6, law.grain_size.value * 1e6, "µm", cited_at(law.size_exponent)),
        "Fire coupons of the lot to narrow it.",
    )


def _flows(bed: Bed) -> Iterator[Finding]:
    if bed.hausner is None:
        return
    sticks = bed.hausner > FREE
    text = f"Hausner ratio {bed.hausner:.2f}, Carr index {1 - 1 / bed.hausner:.0%}: flow {bed.flow}."
    if sticks:
        text += f" Grains stick, so layers may tear and lie uneven. {IDEAL}"
    yield risk(
        "flow",
        text,
        Against(bed.hausner, FREE, "-", "USP <1174>"),
        "Dry the powder, spread more slowly, or blend in a coarser cut.",
        unless=not sticks,
    )


def _coarsest(bed: Bed, powder: Powder, choices: Choices) -> Iterator[Finding]:
    layer = choices.layer_um if choices.layer_um is not None else into(powder.layer.value, "um")
    if bed.d99 is None or layer >= into(bed.d99, "um"):
        return
    most = into(bed.d99, "um")
    yield risk(
        "layer under d99",
        f"One grain in a hundred, by mass, is coarser than {most:.0f} um; a layer of {layer:.0f} um "
        "may show streaks.",
        Against(layer, most, "um", PRACTICE),
        f"Sieve the lot finer, or use layers of {most:.0f} um or more.",
    )


def _unmeasured(lot: Lot) -> Iterator[Finding]:
    if lot.green_density or lot.tap_density or lot.apparent_density:
        return
    yield advice(
        "lot without a density",
        f"No density was measured on lot {lot.name}. {IDEAL}",
        Against(source=PRACTICE),
        "Measure tap and apparent density (ISO 3953, ISO 3923-1), or print coupons.",
    )
