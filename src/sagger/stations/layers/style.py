"""How drops are to be set: compensation, skin and core, levels, and how much mending is allowed."""

from __future__ import annotations

from sagger.goods.head import Head
from sagger.goods.layout import Layout
from sagger.goods.order import Choices, Request
from sagger.goods.stack import Patience, Style, Treatment


def style(layout: Layout, head: Head, choices: Choices) -> Style:
    """The style that order and head ask for: what a part says of itself goes before what is said for all."""
    usual = Patience()
    return Style(
        treatments=tuple(_treatment(green.part.request, choices) for green in layout.greens),
        bits=head.bits,
        patience=Patience(
            bridge_mm=usual.bridge_mm if choices.bridge_mm is None else choices.bridge_mm,
            open_share=usual.open_share if choices.open_share is None else choices.open_share,
        ),
    )


def _treatment(request: Request, choices: Choices) -> Treatment:
    def first(name: str) -> float | None:
        own: float | None = getattr(request, name)
        common: float | None = getattr(choices, name)
        return common if own is None else own

    skin = 1.0 if choices.skin_saturation is None else choices.skin_saturation
    core, skin_mm = first("core_saturation"), first("skin_mm")
    return Treatment(
        bleed_mm=(first("bleed_um") or 0.0) / 1e3,
        depth_mm=(first("depth_um") or 0.0) / 1e3,
        skin_mm=None if core in (None, skin) else skin_mm,  # a core like its skin needs no looking for
        skin=skin,
        core=skin if core is None or skin_mm is None else core,
    )
