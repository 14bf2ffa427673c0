"""Order, parts, findings and factors as plan.json shows them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy import ndarray

from sagger.goods.bed import Bed
from sagger.goods.factors import Factors
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.lot import Lot
from sagger.goods.order import Nesting, Order, Tolerance
from sagger.goods.part import Part
from sagger.goods.sag import Misfit, Sag
from sagger.units import into
from sagger.views.palette import letter
from sagger.views.plan.asked import (
    BedOut,
    ChoicesOut,
    FactorsOut,
    FindingOut,
    MisfitOut,
    ModelOut,
    NestingOut,
    OrderOut,
    PartOut,
    SagOut,
    ToleranceOut,
)

_DIGITS = 10  # of converted figures: enough for any use, and free of 0.1 + 0.2


def said(value: float, unit: str = "") -> float:
    """An SI value in `unit`, or any number, with the noise of binary conversion rounded away."""
    number = float(into(value, unit) if unit else value)
    if number == 0 or not math.isfinite(number):
        return number
    return round(number, _DIGITS - 1 - math.floor(math.log10(abs(number))))


def all_said(values: Iterable[float] | ndarray, unit: str = "") -> Any:
    """Each of `values` as `said`."""
    return [said(float(value), unit) for value in values]


def _nesting(nesting: Nesting) -> NestingOut:
    return NestingOut(
        gap_z_mm=nesting.gap_z_mm,
        empty_below_mm=nesting.empty_below_mm,
        empty_above_mm=nesting.empty_above_mm,
        keep_out_mm=[list(each) for each in nesting.keep_out],
        printed_most_percent=said(nesting.printed_most, "%"),
        even=nesting.even,
        prefer=nesting.prefer,
        places=nesting.places,
        improve=nesting.improve,
    )


def _share(value: float | None) -> float | None:
    return None if value is None else said(value, "%")


def order_out(order: Order) -> OrderOut:
    """The order and its choices."""
    choices = order.choices
    return OrderOut(
        name=order.name,
        shop=order.shop,
        start=order.start,
        choices=ChoicesOut(
            layer_um=choices.layer_um,
            saturation_percent=_share(choices.saturation),
            gap_mm=choices.gap_mm,
            phase_jitter=choices.phase_jitter,
            bleed_um=choices.bleed_um,
            depth_um=choices.depth_um,
            skin_mm=choices.skin_mm,
            skin_saturation_percent=_share(choices.skin_saturation),
            core_saturation_percent=_share(choices.core_saturation),
            bridge_mm=choices.bridge_mm,
            open_percent=_share(choices.open_share),
            snap=choices.snap,
            compression=choices.compression,
            alloy=choices.alloy,
            by_place=choices.by_place,
            sag=choices.sag,  # type: ignore[arg-type]
            seed=choices.seed,
            nesting=_nesting(choices.nesting),
        ),
    )


def part_out(part: Part, index: int, green: Green | None = None) -> PartOut:
    """One part; with its green if it was compensated."""
    request = part.request
    return PartOut(
        index=index,
        letter=letter(index),
        name=request.name,
        file=request.file,
        digest=part.digest,
        quantity=request.quantity,
        orientations=request.orientations,
        rotation_deg=request.rotation_deg,
        scale=request.scale,
        due=request.due,
        together=request.together,
        apart=request.apart,
        held=[(spot.x, spot.y, spot.z_mm) for spot in request.held],
        tolerance=_tolerance(request.tolerance),
        volume_mm3=said(part.volume_mm3),
        area_mm2=said(part.area_mm2),
        extent_mm=all_said(part.extent_mm),
        green_extent_mm=all_said(green_extent(green)) if green else None,
        thickest_mm=said(part.thickest_mm),
        triangles=len(part.shape.triangles),
        sag=_sag(green.sag) if green and green.sag else None,
        healed=list(part.healed),
        findings=[finding_out(each) for each in part.findings],
    )


def _sag(sag: Sag) -> SagOut:
    return SagOut(
        method=sag.method,  # type: ignore[arg-type]
        before=_misfit(sag.before),
        after=_misfit(sag.after),
        rounds=sag.rounds,
        cells=sag.cells,
        cells_checked=sag.finished.cells if sag.finished else None,
    )


def _misfit(misfit: Misfit | None) -> MisfitOut | None:
    if misfit is None:
        return None
    return MisfitOut(
        rms_mm=said(misfit.rms_mm), most_mm=said(misfit.most_mm), fit_rms_mm=said(misfit.fit_rms_mm)
    )


def green_extent(green: Green, turn: int = 0) -> ndarray:
    """Overall green size along the part's own axes when printed in orientation `turn`, float64 (3,) [mm]."""
    along_machine = np.ptp(green.shape.vertices @ green.maps[turn].T, axis=0)
    machine_axis = np.abs(green.part.turns[turn]).argmax(axis=0)  # that a part axis lies along
    return np.asarray(along_machine[machine_axis])


def finding_out(finding: Finding) -> FindingOut:
    """One finding."""
    return FindingOut(
        level=finding.level,  # type: ignore[arg-type]
        what=finding.what,
        text=finding.text,
        value=None if finding.value is None or not math.isfinite(finding.value) else said(finding.value),
        limit=None if finding.limit is None or not math.isfinite(finding.limit) else said(finding.limit),
        unit=finding.unit,
        at_mm=None if finding.at_mm is None else all_said(finding.at_mm),
        source=finding.source,
        remedy=finding.remedy,
    )


def factors_out(factors: Factors) -> FactorsOut:
    """The oversize factors used."""
    return FactorsOut(
        k=all_said(factors.k),
        u=all_said(factors.u),
        material=factors.material,
        origin=factors.origin,
        lot=factors.lot,
    )


def _tolerance(asked: Tolerance) -> ToleranceOut:
    return ToleranceOut(
        kind=asked.kind,  # type: ignore[arg-type]
        plus_minus_mm=asked.value if asked.kind == "mm" else None,
        plus_minus_percent=asked.value if asked.kind == "percent" else None,
        grade=asked.grade,
    )


def bed_out(bed: Bed, lot: Lot | None) -> BedOut:
    """The bed that the lot makes, or the card."""
    powder = bed.powder
    return BedOut(
        lot=bed.lot,
        origin=lot.origin if lot else "",
        basis=bed.basis,
        standing=bed.standing,
        packing_percent=said(bed.packing, "%"),
        packing_u_percent=said(bed.packing_u, "%"),
        green_density_percent=said(bed.green, "%"),
        green_density_u_percent=said(bed.green_u, "%"),
        alone_percent=said(bed.alone, "%"),
        models=[ModelOut(name=name, packing_percent=said(value, "%")) for name, value in bed.models],
        solid_density_g_per_cm3=said(powder.solid_density.value, "g/cm3"),
        d10_um=said(powder.d10.value, "um"),
        d50_um=said(powder.d50.value, "um"),
        d90_um=said(powder.d90.value, "um"),
        d99_um=None if bed.d99 is None else said(bed.d99, "um"),
        hausner=None if bed.hausner is None else said(bed.hausner),
        flow=bed.flow,
    )
