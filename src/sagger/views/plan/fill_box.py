"""One box as plan.json shows it."""

from __future__ import annotations

import math

from sagger.goods.depowdering import Depowdering
from sagger.goods.dose import Dose
from sagger.goods.job import Build
from sagger.goods.layout import Pose
from sagger.views.plan.box import (
    BinderOut,
    BoxOut,
    CleaningOut,
    DepowderOut,
    DropsOut,
    PoseOut,
    PowderOut,
)
from sagger.views.plan.fill_asked import all_said, said
from sagger.views.plan.fill_cure import cure_out
from sagger.views.plan.fill_layers import layers_out
from sagger.views.plan.fill_times import drying_out, times_out


def box_out(build: Build, first_row: str) -> BoxOut:
    """One box, from nest to clean green parts; `first_row` as on the head card."""
    layout = build.layout
    box = layout.box
    alone = not math.isfinite(layout.least_gap_mm)
    return BoxOut(
        number=layout.number,
        size_mm=all_said((box.length_x.value, box.length_y.value, box.length_z.value), "mm"),
        pieces=len(layout.pieces),
        height_mm=said(layout.height_mm),
        gap_mm=said(layout.gap_mm),
        least_gap_mm=None if alone else said(layout.least_gap_mm),
        wall_gap_mm=said(layout.wall_gap_mm),
        volume_mm3=said(layout.volume_mm3),
        density_percent=said(layout.density, "%"),
        gap_z_mm=None if layout.gap_z_mm is None else said(layout.gap_z_mm),
        bound_mm=said(layout.bound_mm),
        filling_percent=all_said(layout.filling, "%"),
        printed_most_percent=said(layout.printed_most, "%"),
        poses=[_pose(pose) for pose in layout.poses],
        lift_order=[[piece.part, piece.number] for piece in reversed(layout.pieces)],
        layers=layers_out(build, first_row),
        drops=_drops(build.dose),
        binder=BinderOut(
            volume_mL=said(build.dose.binder, "mL"),
            mass_g=said(build.dose.binder_mass, "g"),
            solids_mass_g=said(build.dose.solids_mass, "g"),
        ),
        powder=_powder(build.dose),
        times=times_out(build.timetable),
        drying=drying_out(build.timetable.drying),
        cure=cure_out(build.cured),
        depowder=_depowder(build.depowdering),
    )


def _pose(pose: Pose) -> PoseOut:
    return PoseOut(
        part=pose.part,
        turn=pose.turn,
        pieces=pose.pieces,
        height_mm=said(pose.height_mm),
        steps=round(pose.steps, 4),
        carried_percent=round(100 * pose.carried, 1),
        sag_mm=None if pose.sag_mm is None else said(pose.sag_mm),
    )


def _drops(dose: Dose) -> DropsOut:
    return DropsOut(
        count=dose.drops,
        most_in_a_layer=int(max(dose.drops_by_layer, default=0)),
        volume_pL=said(dose.drop, "pL"),
        saturation_asked_percent=said(dose.saturation_asked, "%"),
        saturation_percent=said(dose.saturation, "%"),
        saturation_u_percent=said(dose.saturation_u, "%"),
        thin_to_percent=said(dose.thin_to, "%"),
        standing=dose.standing,
        reynolds=said(dose.reynolds),
        weber=said(dose.weber),
        ohnesorge=said(dose.ohnesorge),
        pore_radius_um=said(dose.pore_radius, "um"),
        capillary_pressure_kPa=said(dose.capillary_pressure, "kPa"),
        soak_time_ms=said(dose.soak_time, "ms"),
        layer_soak_ms=said(dose.layer_soak, "ms"),
        spread_um=said(dose.spread, "um"),
        overreach_um=said(dose.overreach, "um"),
        equilibrium_saturation_percent=None if dose.equilibrium is None else said(dose.equilibrium, "%"),
        bleed_most_um=said(dose.bleed_most, "um"),
    )


def _powder(dose: Dose) -> PowderOut:
    return PowderOut(
        packing_percent=said(dose.packing, "%"),
        fed_kg=said(dose.powder_fed),
        in_box_kg=said(dose.powder_in_box),
        in_pieces_kg=said(dose.powder_in_pieces),
        loose_kg=said(dose.powder_loose),
        lost_kg=said(dose.powder_lost),
        back_kg=said(dose.powder_back),
    )


def _depowder(emptied: Depowdering) -> DepowderOut:
    return DepowderOut(
        hands_on_h=said(emptied.hands_on, "h"),
        cake_kg=said(emptied.cake),
        cake_u_kg=said(emptied.cake_u),
        overfed_kg=said(emptied.overfed),
        trapped_kg=said(emptied.trapped),
        pockets_kg=said(emptied.pockets),
        lost_kg=said(emptied.lost),
        standing=emptied.standing,
        cleanings=[
            CleaningOut(
                part=each.part,
                pieces=each.pieces,
                means=each.means,
                trapped_g=said(each.trapped, "g"),
                pockets_g=said(each.pockets, "g"),
                way_widths=said(each.slimness),
                openings=each.openings,
            )
            for each in emptied.cleanings
        ],
    )
