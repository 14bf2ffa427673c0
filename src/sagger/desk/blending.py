"""Blend design: what second cuts would do to a lot."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sagger import cards, units
from sagger.desk.home import card_folders
from sagger.desk.lot import lot
from sagger.goods.blend import Mixed
from sagger.goods.order import Choices
from sagger.stations import bed
from sagger.tick import Tick, silent
from sagger.units import into


def blend(
    base: str, cuts: tuple[str, ...], powder: str, layer: str, *, tick: Tick = silent
) -> tuple[dict[str, Any], list[str]]:
    """Every cut at its best share, as a document and as lines.

    Parameters
    ----------
    base, cuts : str, tuple of str
        Lot files, or names of lots in the ledger; without cuts, imagined ones are tried.
    powder : str
        Powder card of all of them.
    layer : str
        Layer height such as "50 um"; "" takes the card's.

    Raises
    ------
    InputError
        If a lot or the layer is refused.
    """
    here = Path()
    first = lot(base, here, powder)
    seconds = tuple(lot(each, here, powder) for each in cuts)
    choices = Choices(layer_um=into(units.read(layer, "length"), "um") if layer else None)
    card = cards.load("powder", powder, card_folders())
    found = bed.blend(card, first, seconds, choices, tick=tick)
    document = {
        "schema": "sagger-blend/1",
        "base": found.base,
        "packing_percent": 100 * found.packing,
        "packing_u_percent": 100 * found.packing_u,
        "layer_um": into(found.layer, "um"),
        "blends": [_row(each) for each in found.mixed],
    }
    head = f"lot {found.base} alone: packing {found.packing:.1%} (u {found.packing_u:.1%})"
    lines = [head, *(line for each in found.mixed for line in _lines(each))]
    notes = {each.text for mixed in found.mixed for each in mixed.findings if each.level == "ok"}
    return document, [*lines, *sorted(notes)]


def _row(mixed: Mixed) -> dict[str, Any]:
    return {
        "cut": mixed.name,
        "share_percent": 100 * mixed.share,
        "packing_percent": 100 * mixed.packing,
        "packing_u_percent": 100 * mixed.packing_u,
        "gain_percent": 100 * mixed.gain,
        "gain_u_percent": 100 * mixed.gain_u,
        "gains_percent": {name: 100 * gain for name, gain in mixed.gains},
        "length_percent": 100 * mixed.length,
        "d50_um": into(mixed.d50, "um"),
        "d90_um": into(mixed.d90, "um"),
        "findings": [
            {"level": each.level, "what": each.what, "text": each.text, "remedy": each.remedy}
            for each in mixed.findings
        ],
    }


def _lines(mixed: Mixed) -> list[str]:
    if mixed.share == 0:
        return [f"{mixed.name}: no share of it packs closer"]
    others = ", ".join(f"{name} {gain:+.1%}" for name, gain in mixed.gains[1:])
    told = [
        f"{mixed.name}: {mixed.share:.0%} of it packs to {mixed.packing:.1%} (u {mixed.packing_u:.1%}), gain "
        f"{mixed.gain:+.1%} (u {mixed.gain_u:.1%}; {others}), finished lengths {mixed.length:+.2%}, "
        f"d50 {into(mixed.d50, 'um'):.1f}, d90 {into(mixed.d90, 'um'):.1f} µm"
    ]
    told += [
        f"  {each.level.upper()} {each.what}: {each.text}" for each in mixed.findings if each.level != "ok"
    ]
    return told
