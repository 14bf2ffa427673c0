"""What plan.json holds about printed sand."""

from __future__ import annotations

from sagger.goods.mould import Contraction, Mould
from sagger.views.plan.asked import Leaf, says
from sagger.views.plan.fill_asked import said


class ContractionOut(Leaf):
    """Linear contraction of the metal to be cast, as two sources have it."""

    alloy: str
    used_percent: float = says("on the casting's size; the mould is larger by it")
    used_source: str
    used_standing: str
    other_percent: float
    other_source: str
    other_standing: str
    apart_mm: float = says("what the difference makes of the longest size of the order")


class MouldOut(Leaf):
    """What a foundry is told about printed sand."""

    contraction: ContractionOut | None = says("null if no alloy was said; parts then keep their size")
    fineness_AFS: float = says("grain fineness number")
    basis: str = says("what fineness and permeability rest on")
    permeability_AFS: float = says("permeability number, by Kozeny and Carman")
    permeability_AFS_u: float = says("standard uncertainty")
    saturation_percent: float = says("binder over pores, as printed")
    resin_percent: float = says("mass of resin over mass of printed sand")
    loss_on_ignition_percent: float
    loss_on_ignition_u_percent: float = says("standard uncertainty, from the acid")
    standing: str = says("of the weakest figure that these rest on")


def mould_out(mould: Mould) -> MouldOut:
    """What a foundry is told."""
    return MouldOut(
        contraction=_contraction(mould.contraction) if mould.contraction else None,
        fineness_AFS=said(mould.fineness),
        basis=mould.basis,
        permeability_AFS=said(mould.permeability),
        permeability_AFS_u=said(mould.permeability_u),
        saturation_percent=said(mould.saturation, "%"),
        resin_percent=said(mould.resin, "%"),
        loss_on_ignition_percent=said(mould.ignition, "%"),
        loss_on_ignition_u_percent=said(mould.ignition_u, "%"),
        standing=mould.standing,
    )


def _contraction(found: Contraction) -> ContractionOut:
    return ContractionOut(
        alloy=found.alloy,
        used_percent=said(found.used.value, "%"),
        used_source=found.used.source,
        used_standing=found.used.standing,
        other_percent=said(found.other.value, "%"),
        other_source=found.other.source,
        other_standing=found.other.standing,
        apart_mm=said(found.apart_mm),
    )
