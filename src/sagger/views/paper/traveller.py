"""The traveller: what hangs on the box on its way through the cell, as a page and as a PDF of two sheets.

A box with drawn parts has its inspection table on sheets behind them.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

from sagger.goods.caution import Caution
from sagger.goods.good import good
from sagger.goods.job import Build, Job
from sagger.stations import layers
from sagger.views.paper import heat_charts, inspection, press
from sagger.views.paper.inspection import InspectionTable
from sagger.views.paper.sheet import Weak, content, rooms, shown_layer
from sagger.views.pictures import bed, layer, marked
from sagger.views.pictures.palette import letter

CROP_DROPS = (64, 40)
PAGES_MOST = 2


@good
class Pictures:
    """PNG bytes for one box."""

    corner: bytes
    above: bytes
    layer: bytes
    crop: bytes


def sheet(
    job: Job,
    box_index: int,
    cautions: Sequence[Caution],
    weak: Sequence[Weak],
    plan_digest: str,
    pictures: Pictures | None = None,
) -> tuple[str, bytes]:
    """The traveller of one box, self-contained.

    Parameters
    ----------
    job : Job
        As the line leaves it.
    box_index : int
        Which box, from 0.
    cautions : sequence of Caution
        The ones that material and route call for.
    weak : sequence of 5 texts each
        Figures that rest on memory or assumption: card, figure, as printed, standing, source.
    plan_digest : str
        Of plan.json, so that paper and plan can be matched.
    pictures : Pictures, optional
        Drawn here if not given.

    Returns
    -------
    html : str
        One page with pictures inlined and a print style.
    pdf : bytes
        The same content on A4; equal input gives equal bytes.
    """
    build = job.builds[box_index]
    shots = pictures or photograph(build)
    figures = {"corner": shots.corner, "above": shots.above, "layer": shots.layer, "crop": shots.crop}
    figures["cure"] = heat_charts.cure(build.cured).encode()
    figures["qr"] = _qr(f"{job.order.name} box {build.layout.number} plan {plan_digest}")
    if job.sintered:
        figures["chart"] = heat_charts.furnace(job.sintered).encode()
    for room in rooms(build):
        texts = content(job, box_index, cautions, weak, plan_digest, room)
        pdf = press.pdf("traveller.typ", texts._asdict(), figures)
        if press.pages(pdf) <= PAGES_MOST:
            break
    if asked := inspection.tables(job, build):
        numbered = [_numbered(job, table, figures) for table in asked]
        texts = texts._replace(inspection=numbered)
        pdf = press.pdf("traveller.typ", texts._asdict(), figures)
    return press.page("traveller.html.j2", texts._asdict(), figures), pdf


def _numbered(job: Job, table: InspectionTable, figures: dict[str, bytes]) -> InspectionTable:
    """The table with pictures of its part in which its numbers stand, put among the figures."""
    part = next(part for index, part in enumerate(job.parts) if letter(index) == table.letter)
    shown = marked.marked(part)
    named = {f"marked-{table.letter}-{n}": shot for n, shot in enumerate(shown.pictures, start=1)}
    figures |= {name: shot.png for name, shot in named.items()}
    return table._replace(
        wide=[name for name, shot in named.items() if shot.wide],
        small=[name for name, shot in named.items() if not shot.wide],
        caption=marked.caption(shown),
    )


def photograph(build: Build) -> Pictures:
    """The box from a corner and from above, and its fullest layer, whole and at drop scale."""
    drops = layers.sheet(layers.press(build.stack), shown_layer(build)).runs
    window = layer.edge(drops, *CROP_DROPS)
    pitch_mm = build.stack.pitch_mm
    return Pictures(
        corner=bed.picture(build.layout, 1400, 760, labels=True),
        above=bed.picture(build.layout, 1100, 680, bed.ABOVE, labels=True),
        layer=layer.picture(drops, pitch_mm, 1100, window),
        crop=layer.crop(drops, pitch_mm, window, 12),
    )


def _qr(text: str) -> bytes:
    import segno

    out = io.BytesIO()
    segno.make_qr(text, error="m").save(out, kind="svg", border=2, xmldecl=False, svgns=True)
    return out.getvalue()
