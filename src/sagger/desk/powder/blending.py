"""Blend design: what second cuts would do to a lot."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from sagger import cards, units
from sagger.desk.home import card_folders
from sagger.desk.powder.lot import lot
from sagger.goods.blend import Mixed
from sagger.goods.good import good
from sagger.goods.lot import Lot
from sagger.goods.order import Choices
from sagger.stations import bed
from sagger.tick import Tick, silent
from sagger.units import into
from sagger.views.words.noticed import FindingLine, line


class BlendLine(NamedTuple):
    """What one cut does at its best share."""

    cut: str
    share_percent: float
    packing_percent: float
    packing_u_percent: float
    gain_percent: float
    gain_u_percent: float
    gains_percent: dict[str, float]  # by model
    length_percent: float
    d50_um: float
    d90_um: float
    findings: tuple[FindingLine, ...]


@good
class BlendDocument:
    """What second cuts would do to a lot."""

    schema: str = "sagger-blend/1"
    base: str
    packing_percent: float
    packing_u_percent: float
    layer_um: float
    blends: tuple[BlendLine, ...]


def blend(
    base: str,
    cuts: tuple[str, ...],
    powder: str,
    layer: str,
    *,
    find: Callable[[str, str], Lot] = lot,
    tick: Tick = silent,
) -> tuple[BlendDocument, list[str]]:
    """Every cut at its best share, as a document and as lines.

    Parameters
    ----------
    base, cuts : str, tuple of str
        Lot files, or names of lots in the ledger; without cuts, imagined ones are tried.
    powder : str
        Powder card of all of them.
    layer : str
        Layer height such as "50 um"; "" takes the card's.
    find : callable
        A lot by its name and powder; without one, a name that ends in .toml is a file.

    Raises
    ------
    InputError
        If a lot or the layer is refused.
    """
    first = find(base, powder)
    seconds = tuple(find(name, powder) for name in cuts)
    choices = Choices(layer_um=into(units.read(layer, "length"), "um") if layer else None)
    card = cards.load("powder", powder, card_folders())
    blended = bed.blend(card, first, seconds, choices, tick=tick)
    document = BlendDocument(
        base=blended.base,
        packing_percent=100 * blended.packing,
        packing_u_percent=100 * blended.packing_u,
        layer_um=into(blended.layer, "um"),
        blends=tuple(_row(mixed) for mixed in blended.mixed),
    )
    head = f"lot {blended.base} alone: packing {blended.packing:.1%} (u {blended.packing_u:.1%})"
    lines = [head, *(line for mixed in blended.mixed for line in _lines(mixed))]
    notes = {noticed.text for mixed in blended.mixed for noticed in mixed.findings if noticed.level == "ok"}
    return document, [*lines, *sorted(notes)]


def _row(mixed: Mixed) -> BlendLine:
    return BlendLine(
        cut=mixed.name,
        share_percent=100 * mixed.share,
        packing_percent=100 * mixed.packing,
        packing_u_percent=100 * mixed.packing_u,
        gain_percent=100 * mixed.gain,
        gain_u_percent=100 * mixed.gain_u,
        gains_percent={name: 100 * gain for name, gain in mixed.gains},
        length_percent=100 * mixed.length,
        d50_um=into(mixed.d50, "um"),
        d90_um=into(mixed.d90, "um"),
        findings=tuple(map(line, mixed.findings)),
    )


def _lines(mixed: Mixed) -> list[str]:
    if mixed.share == 0:
        return [f"{mixed.name}: no share of it packs closer"]
    others = ", ".join(f"{name} {gain:+.1%}" for name, gain in mixed.gains[1:])
    lines = [
        f"{mixed.name}: {mixed.share:.0%} of it packs to {mixed.packing:.1%} (u {mixed.packing_u:.1%}), gain "
        f"{mixed.gain:+.1%} (u {mixed.gain_u:.1%}; {others}), finished lengths {mixed.length:+.2%}, "
        f"d50 {into(mixed.d50, 'um'):.1f}, d90 {into(mixed.d90, 'um'):.1f} µm"
    ]
    lines += [
        f"  {each.level.upper()} {each.what}: {each.text}" for each in mixed.findings if each.level != "ok"
    ]
    return lines
