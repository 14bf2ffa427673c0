"""What plan.json holds about the order: words, parts, factors, pieces.

A key that holds a measured quantity ends in its unit. A key without one holds a name, a count, an index or a
pure ratio. `docs/plan.md` is written from here.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Triple = tuple[float, float, float]
Row4 = tuple[float, float, float, float]


class Leaf(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


def says(description: str) -> Any:
    """A field's meaning."""
    return Field(description=description)


class FindingOut(Leaf):
    """What a step noticed."""

    level: Literal["ok", "look", "stop"] = says("fine; a person should look; the process cannot do it")
    what: str = says("short name that stays the same")
    text: str = says("one sentence with numbers and units")
    value: float | None = says("what was found, in `unit`")
    limit: float | None = says("what it was compared with, in `unit`")
    unit: str = says("of value and limit")
    at_mm: Triple | None = says("place on the part, in the part's own axes")
    source: str = says("where the limit comes from")
    remedy: str = says("what to do")


class PlacedFinding(FindingOut):
    """A finding with the step, box and part it belongs to."""

    station: str = says(
        "step that noticed it: intake, bed, nest, layers, dosing, cycle, cure, depowder, sinter, mould, cost"
    )
    box: int | None = says("box number; null if it belongs to none")
    part: int | None = says("index into `parts`; null if it belongs to none")


class NestingOut(Leaf):
    """What was asked of the nest beyond its gap."""

    gap_z_mm: float | None = says("between pieces one above the other; null = as across")
    empty_below_mm: float = says("first layers without pieces")
    empty_above_mm: float = says("last layers without pieces")
    keep_out_mm: list[list[float]] = says("rectangles of the bed left free: x, y to x, y")
    printed_most_percent: float = says("of the box area in a layer")
    even: bool = says("boxes get equal shares of every part")
    prefer: str = says("orientations: height, surface, powder or sag")
    places: str = says("any, or by tolerance")
    improve: int = says("rounds of search beyond the usual ones")


class ChoicesOut(Leaf):
    """What the engineer decided; null = from the cards."""

    layer_um: float | None
    saturation_percent: float | None
    gap_mm: float | None
    phase_jitter: bool | None = says("sampling phase moved from layer to layer")
    bleed_um: float | None = says("outlines are drawn inside by this; a part may say otherwise")
    depth_um: float | None = says("undersides are drawn higher by this; a part may say otherwise")
    skin_mm: float | None = says("thickness of the skin around a core; a part may say otherwise")
    skin_saturation_percent: float | None = says("of the skin, of the saturation")
    core_saturation_percent: float | None = says("of the core, of the saturation; a part may say otherwise")
    bridge_mm: float | None = says("longest gap in an outline of a broken mesh that is joined")
    open_percent: float | None = says("share of an outline's ends that may be open")
    snap: bool = says("pieces moved by up to a drop, so that flat faces fall between drops")
    compression: str = says('of the layer files; "" = by content')
    alloy: str = says("sand only: the metal to be cast")
    sag: Literal["factors", "quick", "full"] = says(
        "oversize factors alone, or pre-deformed against sagging on a coarse or a fine grid; a part may say "
        "otherwise"
    )
    by_place: bool = says("oversize of each piece from its own place in the bed")
    seed: int = says("of the search for a nest")
    nesting: NestingOut


class OrderOut(Leaf):
    """The order."""

    name: str
    shop: str
    start: str = says("ISO date and time at which the first box can start")
    choices: ChoicesOut


class ToleranceOut(Leaf):
    """What deviation is allowed."""

    kind: Literal["mm", "percent", "iso2768"]
    plus_minus_mm: float | None = says("if kind is mm")
    plus_minus_percent: float | None = says("if kind is percent")
    grade: str = says("if kind is iso2768: f, m, c or v")


class MisfitOut(Leaf):
    """Distance of the finished surface from nominal, lying on the setter's plane as on a surface plate."""

    rms_mm: float = says("over the area")
    most_mm: float
    fit_rms_mm: float = says("over the area, after the best rigid fit")


class SagOut(Leaf):
    """How far a part comes out off nominal by finite elements: as it is, and pre-deformed."""

    method: Literal["quick", "full"]
    before: MisfitOut | None = says("printed at even oversize; null if it could not be followed")
    after: MisfitOut | None = says("pre-deformed, on an unrelated finer grid; null if it was left as it is")
    rounds: int = says("of bending")
    cells: int = says("of the grid it was bent on")
    cells_checked: int | None = says("of the grid it was checked on; null if it could not be followed")


class PartOut(Leaf):
    """One part of the order, at nominal size unless the key says green."""

    index: int = says("from 0; other places name parts by it")
    letter: str = says("how pictures and traveller name the part")
    name: str
    file: str
    digest: str = says("of the part file's bytes")
    quantity: int
    orientations: str = says("fixed, upright (quarter turns about z) or free (24 turns)")
    rotation_deg: Triple = says("turns about x, then y, then z, before nesting")
    scale: float = says("of the file, before anything else")
    due: str = says("ISO date, empty if none")
    together: str = says("set whose pieces all go into one box")
    apart: str = says("parts of differently named sets never share a box")
    held: list[Triple] = says(
        "spots in every box: shares of the free length along x and y, height [mm]; empty for nested parts"
    )
    tolerance: ToleranceOut
    volume_mm3: float
    area_mm2: float
    extent_mm: Triple = says("overall size along x, y, z as filed and turned by the order")
    green_extent_mm: Triple | None = says("the same at green size, unturned; null if not compensated")
    thickest_mm: float = says("diameter of the largest ball that fits inside")
    triangles: int
    sag: SagOut | None = says("null where oversize factors alone were chosen")
    healed: list[str] = says("what was mended in the file, in words")
    findings: list[FindingOut]


class FactorsOut(Leaf):
    """Oversize factors: green length over finished length, along machine x, y, z."""

    k: Triple
    u: Triple = says("standard uncertainty of k")
    material: str
    origin: str = says("card, casting contraction, or the ledger's entry")
    lot: str


class ModelOut(Leaf):
    """What one packing model makes of the lot's size curve."""

    name: str = says(
        "linear (Yu, Zou, Standish 1996), mixture (Yu, Standish 1991), compressible (de Larrard 1999)"
    )
    packing_percent: float = says("its one size alone calibrated on the powder card's grains and packing")


class BedOut(Leaf):
    """The bed that the powder makes when it is spread."""

    lot: str = says("name of the powder lot; empty if the card stands for it")
    origin: str = says("received, sieved, blended or recovered; empty without a lot")
    basis: str = says("what the packing rests on")
    standing: str = says("of the weakest figure it rests on")
    packing_percent: float = says("share of the spread bed that is solid")
    packing_u_percent: float = says("standard uncertainty")
    green_density_percent: float = says("relative, binder excluded")
    green_density_u_percent: float = says("standard uncertainty")
    alone_percent: float = says("packing of one size alone in this bed, by the linear model")
    models: list[ModelOut]
    solid_density_g_per_cm3: float
    d10_um: float
    d50_um: float
    d90_um: float
    d99_um: float | None = says("null if no curve reaches it")
    hausner: float | None = says("tap over apparent density; null without both")
    flow: str = says("class after USP 1174; empty without both densities")


class PieceOut(Leaf):
    """One copy of a part, in its place."""

    part: int = says("index into `parts`")
    name: str = says("of the part")
    number: int = says("which copy in the whole order, from 1")
    box: int = says("box number")
    turn: int = says("index of the orientation used; 0 = as filed")
    placement: tuple[Row4, Row4, Row4, Row4] = says(
        "column-vector matrix: nominal part [mm] to box [mm]; oversize factors included"
    )
