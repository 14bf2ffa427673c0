"""How drops are to be set: compensation, skin and core, levels, and how much mending is allowed."""

from __future__ import annotations

from sagger.goods.good import good


@good
class Treatment:
    """What the printed binder does, and what is done about it, for one part."""

    bleed_mm: float = 0.0  # how far binder creeps beyond an outline; outlines are drawn inside by this
    depth_mm: float = 0.0  # how far binder soaks below a layer; undersides are drawn higher by this
    skin_mm: float | None = None  # thickness of the skin all round, None = no core
    skin: float = 1.0  # saturation of the skin, of the largest drop on every place [-]
    core: float = 1.0  # of what lies deeper [-]


@good
class Patience:
    """How much mending of broken meshes is allowed before a layer is refused."""

    bridge_mm: float = 0.5  # longest gap in an outline
    open_share: float = 0.01  # of an outline's segment ends


@good
class Style:
    """How a stack is drawn."""

    treatments: tuple[Treatment, ...] = (Treatment(),)  # one per part of the layout, or one for all
    bits: int = 1  # per drop: 1, or 2 or 4 for levels from exact cover
    patience: Patience = Patience()
