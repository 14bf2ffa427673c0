"""Layer clock and drying of one box as plan.json shows them."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.timetable import Drying, Timetable
from sagger.units import into
from sagger.views.plan.box import ChangeOut, DryingOut, LayerTimeOut, TimesOut
from sagger.views.plan.fill_asked import said


def times_out(times: Timetable) -> TimesOut:
    """The layer clock."""
    return TimesOut(
        spread_s=said(times.spread),
        return_s=said(times.back),
        print_s=said(times.print),
        dry_s=said(times.dry),
        clean_s=said(times.clean),
        platform_s=said(times.platform),
        layer_s=said(times.layer),
        passes=times.passes,
        stripes=times.stripes,
        build_h=said(times.build, "h"),
        setup_h=said(times.setup, "h"),
        firing_kHz=said(times.firing, "kHz"),
        firing_most_kHz=said(times.firing_most, "kHz"),
        mean_layer_s=said(times.build / max(1, times.layers)),
        layer_times=_runs(times.by_layer),
        volume_rate_cm3_per_h=said(times.volume_rate, "cm3/h"),
        bed_rate_kg_per_h=said(times.bed_rate, "kg/h"),
        piece_rate_kg_per_h=said(times.piece_rate, "kg/h"),
        standing=times.standing,
        longest=times.longest,
        longest_percent=said(times.longest_share, "%"),
        changes=[
            ChangeOut(
                change=each.name,
                mean_layer_s=said(each.layer),
                build_h=said(each.build, "h"),
                note=each.note,
            )
            for each in times.changes
        ],
        lamp_power_W=said(times.drying.lamp_power),
        vapour_g_per_h=said(times.drying.vapour, "g/h"),
        ventilation_m3_per_h=said(times.drying.ventilation, "m3/h"),
    )


def drying_out(dry: Drying) -> DryingOut:
    """Heat, vapour and what stays wet."""
    return DryingOut(
        lamp_power_W=said(dry.lamp_power),
        standing=dry.standing,
        lamp_energy_kJ=said(dry.lamp_energy / 1e3),
        evaporation_g_per_m2_s=said(dry.flux, "g/m2.s"),
        least_time_s=said(dry.least),
        water_jetted_g=said(into(dry.water_jetted, "g")),
        water_left_g=said(into(dry.water_left, "g")),
        solvent_g=said(into(dry.solvent, "g")),
        vapour_g_per_h=said(dry.vapour, "g/h"),
        burst_g_per_h=said(dry.burst, "g/h"),
        ventilation_m3_per_h=said(dry.ventilation, "m3/h"),
        burst_ventilation_m3_per_h=said(dry.burst_ventilation, "m3/h"),
        oven_air_m3_per_h=said(dry.oven_air, "m3/h"),
    )


def _runs(by_layer: ndarray) -> list[LayerTimeOut]:
    """Layers of equal time together."""
    if not len(by_layer):
        return []
    firsts = np.concatenate([[0], np.flatnonzero(np.diff(by_layer)) + 1])
    lasts = np.concatenate([firsts[1:], [len(by_layer)]])
    return [
        LayerTimeOut(first=int(first) + 1, last=int(last), layer_s=said(float(by_layer[first])))
        for first, last in zip(firsts, lasts, strict=True)
    ]
