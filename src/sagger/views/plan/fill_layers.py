"""The layers of one box as plan.json shows them: lattice, drop table, classes, treatments."""

from __future__ import annotations

from sagger.goods.job import Build
from sagger.views.plan.box import ClassOut, LayersOut, LevelOut, TreatmentOut
from sagger.views.plan.fill_asked import said


def layers_out(build: Build, first_row: str) -> LayersOut:
    """The layers of one box; `first_row` as on the head card."""
    stack, tally = build.stack, build.tally
    return LayersOut(
        count=stack.count,
        thickness_um=said(stack.layer_mm * 1e3),
        pitch_um=(said(stack.pitch_mm[0] * 1e3), said(stack.pitch_mm[1] * 1e3)),
        columns=stack.columns,
        rows=stack.rows,
        bits=stack.style.bits,
        first_row=first_row,
        jitter=stack.jitter,
        leaks=tally.leaks,
        bridges=tally.bridges,
        longest_bridge_mm=said(tally.longest_mm),
        missed_rows=list(stack.missed),
        lost_drops=tally.lost,
        drop_table=_table(build),
        classes=_classes(build),
        treatments=_treatments(build),
        digest=tally.digest,
    )


def _table(build: Build) -> list[LevelOut]:
    drops = build.tally.levels.sum(axis=0)
    rows = zip(build.dose.level_drops, build.dose.level_saturations, drops, strict=True)
    return [
        LevelOut(
            level=level, volume_pL=said(volume, "pL"), saturation_percent=said(full, "%"), drops=int(count)
        )
        for level, (volume, full, count) in enumerate(rows, 1)
    ]


def _classes(build: Build) -> list[ClassOut]:
    return [
        ClassOut(
            of_full_percent=said(each.share, "%"),
            saturation_percent=said(each.share * build.dose.saturation, "%"),
            places=each.places,
            drops=each.drops,
        )
        for each in build.tally.classes
    ]


def _treatments(build: Build) -> list[TreatmentOut]:
    given, parts = build.stack.style.treatments, len(build.layout.greens)
    return [
        TreatmentOut(
            part=part,
            bleed_um=said(each.bleed_mm * 1e3),
            depth_um=said(each.depth_mm * 1e3),
            skin_mm=None if each.skin_mm is None else said(each.skin_mm),
            skin_saturation_percent=said(each.skin, "%"),
            core_saturation_percent=said(each.core, "%"),
        )
        for part, each in enumerate(given if len(given) == parts else given * parts)
    ]
