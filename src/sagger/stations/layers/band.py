"""Neighbouring layers drawn together, because skin and depth look at the layers above and below."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.geometry.raster import algebra, cover, halftone
from sagger.geometry.raster.cells import OutlineCells, cells_of
from sagger.geometry.raster.drawing import DropLattice, Section, cut_and_place
from sagger.geometry.raster.fine import SPLIT, cells_of_runs, finer
from sagger.geometry.raster.offset import offset
from sagger.goods.good import good
from sagger.goods.stack import Patience, Stack, Treatment
from sagger.stations.layers.press import Batch, ReadyStack, phase, plane


@good
class Field:
    """A region of a layer with one saturation."""

    runs: raster.Runs
    share: float  # of the largest drop on every place [-]


@good
class Sheet:
    """One layer as drawn."""

    runs: raster.Runs  # wherever binder is wanted
    fields: tuple[Field, ...]  # the same by saturation
    bits: int
    packed: ndarray | None  # image of drops where `runs` is not the whole story; None once finished
    drops: int  # of the largest size: grey levels count by their volume
    section_mm2: float  # exact area of the cut; shells that overlap count twice
    leaks: int  # rows left open by a broken mesh, their last span left out
    bridges: int  # gaps in outlines that were joined
    longest_mm: float  # longest bridge
    digest: str  # of what is printed


class TracedBatch(NamedTuple):
    """One batch in one layer."""

    runs: raster.Runs
    core: raster.Runs | None
    drawn: raster.DrawnPlane
    section: Section | None = None  # grey only
    fine: raster.Runs | None = None  # grey only, in place of the section where outlines are moved


def reach(press: ReadyStack) -> int:
    """How many layers above and below a layer its skin looks at."""
    return max(_around(batch.treatment, press.stack) for batch in press.batches)


def band(press: ReadyStack, first: int, last: int, scratch: raster.Scratch) -> Iterator[tuple[int, Sheet]]:
    """Layers `first` up to `last`, each drawn when asked for."""
    tracks = [
        _traced(batch, press, first, last, scratch, scratch.other(n)) for n, batch in enumerate(press.batches)
    ]
    for k, traces in zip(range(first, last), zip(*tracks, strict=True), strict=True):
        for traced in traces:
            _refuse_gaps(traced.drawn, k, press.stack, press.style.patience)
        yield k, _sheet(press, k, traces, scratch)


def _traced(
    batch: Batch, press: ReadyStack, first: int, last: int, scratch: raster.Scratch, own: raster.Scratch
) -> Iterator[TracedBatch]:
    stack, treatment = press.stack, batch.treatment
    below, around = _below(treatment, stack), _around(treatment, stack)
    if not below and treatment.skin_mm is None and press.style.bits == 1:
        for k in range(first, last):
            drawn = _outline(batch, stack, k, scratch)
            yield TracedBatch(drawn.runs, None, drawn)
        return
    # The core comes from the outlines as they are, deeper by the bleed: the same place, and quicker.
    near = range(first - around, last + around) if treatment.skin_mm is not None else range(0)
    inner = algebra.held_through([_plain(batch, stack, k, scratch).runs for k in near], around)
    for n, k in enumerate(range(first, last)):
        drawn = _outline(batch, stack, k, scratch)
        solid, core = drawn.runs, None
        if below:
            # Sampled at the upper layer's points, or jitter would make walls thinner.
            solid = algebra.both(solid, _outline(batch, stack, k - below, scratch, sampled_as=k).runs)
        if treatment.skin_mm is not None:
            radius = max(treatment.skin_mm + treatment.bleed_mm, 0.0)
            core = algebra.both(algebra.eroded(inner[n], radius, stack.pitch_mm), solid)
        section, fine = _for_grey(batch, press, k, below, own)
        yield TracedBatch(solid, core, drawn, section, fine)


def _for_grey(
    batch: Batch, press: ReadyStack, k: int, below: int, own: raster.Scratch
) -> tuple[Section | None, raster.Runs | None]:
    """What the cover of each drop's cell is worked out from, in buffers that other batches leave alone."""
    stack, bits, bleed_mm = press.stack, press.style.bits, batch.treatment.bleed_mm
    if bits == 1:
        return None, None
    section = cut_and_place(batch.scene, plane(stack, k), phase(stack, k), own)
    if not below and not bleed_mm:
        return section, None
    lattice = _lattice(stack)
    fine = finer(section, -bleed_mm, lattice, SPLIT[bits], own)
    if below and k >= below:
        lower = cut_and_place(batch.scene, plane(stack, k - below), phase(stack, k), own)
        fine = algebra.both(fine, finer(lower, -bleed_mm, lattice, SPLIT[bits], own))
    elif below:
        fine = algebra.empty_like(fine)
    return None, fine


def _plain(
    batch: Batch, stack: Stack, k: int, scratch: raster.Scratch, sampled_as: int | None = None
) -> raster.DrawnPlane:
    """One batch's section as drops; blank below and above the stack."""
    if not 0 <= k < stack.count:
        return raster.DrawnPlane(raster.blank(stack.columns, stack.rows), 0, 0.0, 0, 0, 0.0, 0.0)
    moved = phase(stack, k if sampled_as is None else sampled_as)
    return raster.draw(batch.scene, plane(stack, k), moved, stack.columns, stack.rows, scratch)


def _outline(
    batch: Batch, stack: Stack, k: int, scratch: raster.Scratch, sampled_as: int | None = None
) -> raster.DrawnPlane:
    """As `_plain`, with outlines moved inside by the bleed."""
    if batch.treatment.bleed_mm == 0 or not 0 <= k < stack.count:
        return _plain(batch, stack, k, scratch, sampled_as)
    moved = phase(stack, k if sampled_as is None else sampled_as)
    section = cut_and_place(batch.scene, plane(stack, k), moved, scratch)
    runs = offset(section, -batch.treatment.bleed_mm, _lattice(stack), scratch)
    counts = section.bridges, section.longest_mm, section.open_share
    return raster.DrawnPlane(runs, raster.count(runs), section.area_mm2, 0, *counts)


def _sheet(press: ReadyStack, k: int, traces: tuple[TracedBatch, ...], scratch: raster.Scratch) -> Sheet:
    shares = [(batch.treatment.skin, batch.treatment.core) for batch in press.batches]
    by_share: dict[float, list[raster.Runs]] = {}
    for traced, (skin, core) in zip(traces, shares, strict=True):
        if traced.core is None:
            by_share.setdefault(skin, []).append(traced.runs)
        else:
            by_share.setdefault(skin, []).append(algebra.without(traced.runs, traced.core))
            by_share.setdefault(core, []).append(traced.core)
    fields = tuple(Field(runs=algebra.union(runs), share=share) for share, runs in by_share.items())
    whole = algebra.union([traced.runs for traced in traces])
    packed = _packed(press, k, traces, fields, scratch)
    return Sheet(
        runs=whole,
        fields=fields,
        bits=press.style.bits,
        packed=packed,
        drops=_whole_drops(whole, traces) if packed is None else cover.volume(packed, press.style.bits),
        section_mm2=sum(traced.drawn.area_mm2 for traced in traces),
        leaks=sum(traced.drawn.leaks for traced in traces),
        bridges=sum(traced.drawn.bridges for traced in traces),
        longest_mm=max(traced.drawn.longest_mm for traced in traces),
        digest=_digest(whole, fields, packed, traces, k),
    )


def _packed(
    press: ReadyStack,
    k: int,
    traces: tuple[TracedBatch, ...],
    fields: tuple[Field, ...],
    scratch: raster.Scratch,
) -> ndarray | None:
    """Image of the drops, if it takes more than the runs to say where they fall."""
    stack = press.stack
    if press.style.bits == 1:
        if all(field.share == 1 for field in fields):
            return None
        blank = scratch.image(stack.rows, (stack.columns + 7) // 8)
        image = halftone.filled([(field.runs, field.share) for field in fields], k, blank)
    else:
        lattice, image = _lattice(stack), None
        nowhere = raster.blank(stack.columns, stack.rows)
        for batch, traced in zip(press.batches, traces, strict=True):
            tone = cover.Tone(press.style.bits, batch.treatment.skin, batch.treatment.core, k)
            cells = _cells(traced, press, scratch)
            part = cover.levels(cells, traced.core or nowhere, tone, lattice, scratch)
            image = part if image is None else image | part
    assert image is not None
    image.flags.writeable = False
    return image


def _cells(traced: TracedBatch, press: ReadyStack, scratch: raster.Scratch) -> OutlineCells:
    """Cells that a batch's outlines pass; grey only."""
    lattice = _lattice(press.stack)
    if traced.fine is not None:
        return cells_of_runs(traced.fine, lattice, SPLIT[press.style.bits], scratch)
    assert traced.section is not None
    return cells_of(traced.section, lattice, scratch)


def _whole_drops(whole: raster.Runs, traces: tuple[TracedBatch, ...]) -> int:
    """Drops of a layer that is all runs, as counted on the way where nothing came after the drawing."""
    drawn = traces[0].drawn
    return drawn.drops if whole is drawn.runs else raster.count(whole)


def _digest(
    whole: raster.Runs,
    fields: tuple[Field, ...],
    packed: ndarray | None,
    traces: tuple[TracedBatch, ...],
    k: int,
) -> str:
    """Name of what is printed: of the runs where they say all, else of all that the image is made from."""
    if packed is None:
        return raster.fingerprint(whole)
    state = hashlib.sha256(f"{k} {packed.shape}".encode())
    for field in fields:
        state.update(f"{field.share!r} {raster.fingerprint(field.runs)}".encode())
    for traced in traces:
        if traced.section is not None:
            state.update(np.ascontiguousarray(traced.section.segments[: traced.section.used]).data)
        if traced.fine is not None:
            state.update(raster.fingerprint(traced.fine).encode())
    return state.hexdigest()[:32]


def _lattice(stack: Stack) -> DropLattice:
    return DropLattice(stack.columns, stack.rows, stack.pitch_mm)


def _below(treatment: Treatment, stack: Stack) -> int:
    return round(float(treatment.depth_mm) / stack.layer_mm)


def _around(treatment: Treatment, stack: Stack) -> int:
    return math.ceil(treatment.skin_mm / stack.layer_mm - 1e-9) if treatment.skin_mm is not None else 0


def _refuse_gaps(drawn: raster.DrawnPlane, k: int, stack: Stack, patience: Patience) -> None:
    where = f"layer {k} at {(k + 0.5) * stack.layer_mm:.3f} mm"
    remedy = "mend the part file, or allow more with patience"
    if drawn.longest_mm > patience.bridge_mm:
        gap = (
            f"an outline has a gap of {drawn.longest_mm:.3f} mm, at most {patience.bridge_mm:g} mm is joined"
        )
        raise StopError(f"{where}: {gap}; {remedy}")
    if drawn.open_share > patience.open_share:
        most = f"at most {patience.open_share:.1%} are joined"
        raise StopError(f"{where}: {drawn.open_share:.1%} of an outline's ends are open, {most}; {remedy}")
