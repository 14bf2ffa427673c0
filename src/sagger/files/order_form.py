"""The tables of an order file: keys, what they take, and what is said about them in the schema."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from sagger.files.order_drawn import DatumTable, DimensionTable, FormTable
from sagger.files.order_values import (
    Angle,
    Bleed,
    Chord,
    Day,
    Depth,
    Edge,
    Formed,
    Gap,
    Heat,
    Height,
    Length,
    Moment,
    Open,
    Part,
    Patience,
    Rate,
    Share,
    Size,
    Skin,
    Span,
    Sure,
)


class OrderTable(FormTable):
    name: str = Field(min_length=1, description="What the order is called on every paper")
    shop: str = Field("", description="Whose shop makes it; at the head of every paper")
    customer: str = Field("", description="For whom it is made; on offer and certificate")
    reference: str = Field("", description="The customer's own, such as a purchase number")
    valid: Day = Field("", description="Day until which an offer holds; else as long as the shop card says")
    start: Moment = Field("", description="Date and time at which the first box can start, ISO 8601")
    good: Sure = Field(
        "95 %", description="Chance with which there shall be enough good pieces, and by which day"
    )


class CardsTable(FormTable):
    powder: str = Field(min_length=1, description="Name of a powder card")
    lot: str = Field(
        "",
        description="Powder lot: a lot file ending in .toml, relative to the order, or a lot of the ledger",
    )
    binder: str | None = Field(None, description="Name of a binder card")
    head: str | None = Field(None, description="Name of a head card")
    box: str | None = Field(None, description="Name of a box card")
    oven: str | None = Field(None, description="Name of an oven card")
    furnace: str | None = Field(None, description='Name of a furnace card; "" for sand')
    shop: str | None = Field(None, description="Name of the card with the shop's own rates")


class ChoicesTable(FormTable):
    layer: Length | None = Field(None, description="Layer height", examples=["50 um"])
    saturation: Share | None = Field(None, description="Binder over pore volume", examples=["70 %"])
    gap: Length | None = Field(None, description="Between pieces in the box", examples=["3 mm"])
    phase_jitter: bool | None = Field(None, description="Move the drop lattice from layer to layer")
    bleed: Bleed | None = Field(
        None,
        description="Binder creeps this far beyond outlines; they are drawn inside by it",
        examples=["20 um"],
    )
    depth: Depth | None = Field(
        None,
        description="Binder soaks this far below a layer; undersides are drawn higher",
        examples=["50 um"],
    )
    skin: Skin | None = Field(None, description="Thickness of the skin around a core", examples=["1 mm"])
    skin_saturation: Part | None = Field(None, description="Of the skin, as a share of the saturation")
    core_saturation: Part | None = Field(None, description="Of the core, as a share of the saturation")
    bridge: Gap | None = Field(
        None, description="Longest gap in an outline of a broken mesh that is joined", examples=["0.5 mm"]
    )
    open_share: Open | None = Field(
        None, description="Share of an outline's ends that may be open", examples=["1 %"]
    )
    snap: bool = Field(
        False, description="Move pieces by up to a drop, so that flat faces fall between drops"
    )
    compression: Literal["", "g4", "packbits", "deflate", "none"] = Field(
        "", description='Of the layer files; "" takes what suits the content'
    )
    oven: Heat | None = Field(
        None, description="Set point of the oven, held until the last piece is cured", examples=["200 degC"]
    )
    alloy: str = Field("", description="Sand only: the metal to be cast")
    sag: Literal["factors", "quick", "full"] = Field(
        "factors",
        description="Oversize factors alone, or the part pre-deformed against sagging in the furnace, on a "
        "coarse or a fine grid",
    )
    factors: Literal["approved", "carried"] = Field(
        "approved",
        description="Print with approved factors as they are, or carried by the law to this job's conditions",
    )
    by_place: bool = Field(
        False, description="Each piece gets the oversize of its own place, from the approved map of the bed"
    )
    seed: int = Field(1, ge=0, description="Of the nesting search; the same seed gives the same box")


class NestingTable(FormTable):
    gap_z: Length | None = Field(
        None, description="Between pieces one above the other, where it is not `gap`", examples=["1 mm"]
    )
    empty_below: Gap = Field("0 mm", description="First layers without pieces, beyond the box card's")
    empty_above: Gap = Field("0 mm", description="Last layers without pieces, beyond the box card's")
    keep_out: list[tuple[Edge, Edge, Edge, Edge]] = Field(
        [],
        description="Rectangles of the bed to be left free at all heights: x, y of two corners in mm",
        examples=[[[0.0, 0.0, 30.0, 20.0]]],
    )
    printed_most: Part = Field("100 %", description="Of the box area that a layer may have printed")
    even: bool = Field(False, description="Boxes get equal shares of every part")
    prefer: Literal["height", "surface", "powder", "sag", "promise"] = Field(
        "height",
        description="Orientations: whichever nests lowest, or those on which layers step least, that carry "
        "least powder out, that sag least in the furnace, or in which most pieces are good",
    )
    places: Literal["any", "by tolerance"] = Field(
        "any",
        description="Wherever it nests lowest; or parts with tight tolerances where lengths come out best by "
        "the approved map of the bed",
    )
    lift: Literal["up", "sideways", "any", "none"] = Field(
        "up",
        description="Straight ways by which every piece must be able to leave, one after the other: up; also "
        "sideways and slanting upwards, with the cake free of the walls; also downwards; or no rule, for "
        "comparisons only",
    )
    improve: int = Field(
        0,
        ge=0,
        le=100_000,
        description="Rounds of search beyond the usual ones; at any time you may say that it is enough",
    )
    weigh: bool = Field(
        False, description="Nest a few times more, and tell where it is empty and what would make it lower"
    )

    @field_validator("keep_out", mode="before")
    @classmethod
    def _pairs(cls, rows: object) -> object:
        """TOML has arrays, the strict reading wants fours."""
        return (
            [tuple(each) if isinstance(each, list) else each for each in rows]
            if isinstance(rows, list)
            else rows
        )


class PartTable(FormTable):
    file: str = Field(min_length=1, description="Part file, relative to the order file")
    quantity: int = Field(ge=1, le=100_000)
    spares: int = Field(0, ge=0, le=100_000, description="Pieces printed beyond the quantity")
    tolerance: Size = Field(
        description='±, on every outer size: "0.2 mm", "0.5 %" or "ISO 2768-m" (f, m, c, v)',
        examples=["0.2 mm", "0.5 %", "ISO 2768-m"],
    )
    name: str = Field("", description="The file's name without ending, if left out")
    unit: Literal["", "mm", "um", "cm", "m", "in"] = Field("", description="Needed for STL, OBJ and PLY")
    body: str = Field(
        "",
        description='Which body of a STEP file that holds several; "all" makes each a part of its own, in as '
        "many copies as the assembly has",
        examples=["lid", "all"],
    )
    chord: Chord | None = Field(
        None, description="Largest distance of a STEP file's facets from its surface", examples=["0.05 mm"]
    )
    reading: Patience | None = Field(
        None, description="Processor time that reading the file may take", examples=["5 min"]
    )
    orientations: Literal["fixed", "upright", "free"] = Field(
        "upright", description="As filed; also quarter turns about z; or all 24 turns of a cube"
    )
    turn: list[Angle] = Field(
        [0, 0, 0], min_length=3, max_length=3, description="Degrees about x, then y, then z, before nesting"
    )
    scale: float = Field(1.0, gt=0, le=1000, allow_inf_nan=False, description="Of the file, before all else")
    due: Day = Field("", description="ISO date")
    drawing_number: str = Field("", description="Number of the customer's drawing")
    revision: str = Field("", description="Of that drawing")
    bleed: Bleed | None = Field(None, description="In place of the one in [choices]", examples=["20 um"])
    depth: Depth | None = Field(None, description="In place of the one in [choices]", examples=["50 um"])
    skin: Skin | None = Field(None, description="In place of the one in [choices]", examples=["1 mm"])
    core_saturation: Part | None = Field(
        None, description="In place of the one in [choices]", examples=["60 %"]
    )
    sag: Literal["", "factors", "quick", "full"] = Field(
        "", description="In place of the one in [choices]", examples=["quick"]
    )
    together: str = Field("", description="Name of a set whose pieces all go into one box")
    drawing: Literal["file", "none"] = Field(
        "file", description="Whether what a STEP file asks for on its faces counts"
    )
    form: Formed | None = Field(
        None,
        description="Form and place of every face without a tolerance of its own: class H, K, L of "
        "ISO 2768-2, or a general profile (ISO 22081)",
        examples=["ISO 2768-K", "profile 0.5 mm to A B C"],
    )
    datum: list[DatumTable] = Field([], max_length=20, description="Datums, in [[part.datum]] tables")
    dimension: list[DimensionTable] = Field(
        [], max_length=200, description="Dimensions and tolerances, in [[part.dimension]] tables"
    )
    apart: str = Field("", description="Name of a set; parts of differently named sets never share a box")


Within = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


class CouponTable(FormTable):
    kind: Literal["bar", "cube", "steps", "cylinder"] = Field(description="Shape that is drawn for it")
    places: Literal["corners", "five", "nine"] | list[tuple[Within, Within]] = Field(
        description="Where in every box: by name, or as shares of the free length along x and y",
        examples=["nine", [[0.0, 0.5], [1.0, 0.5]]],
    )
    height: Height = Field("0 mm", description="Above the lowest place that pieces may lie at")
    series: int = Field(1, ge=0, le=31, description="Part of the label on each piece")

    @field_validator("places", mode="before")
    @classmethod
    def _pairs(cls, places: object) -> object:
        """TOML has arrays, the strict reading wants pairs."""
        return [tuple(each) for each in places] if isinstance(places, list) else places


class OvenStretch(FormTable):
    rate: Rate = Field(description="Heating rate", examples=["2 K/min"])
    target: Heat = Field(description="Up, or down, to this", examples=["120 degC"])
    hold: Span = Field("0 min", description="Held there")


class FurnaceStretch(OvenStretch):
    stage: Literal["debinding", "sintering"]
    atmosphere: Literal["air", "hydrogen", "argon", "nitrogen", "vacuum"]


class OrderFile(FormTable):
    model_config = ConfigDict(title="Sagger order")
    order: OrderTable
    cards: CardsTable
    choices: ChoicesTable = Field(default_factory=lambda: ChoicesTable.model_validate({}))
    nesting: NestingTable = Field(default_factory=lambda: NestingTable.model_validate({}))
    part: list[PartTable] = Field([], max_length=1000, description="Not needed where coupons are asked for")
    coupon: list[CouponTable] = Field([], max_length=20)
    oven_programme: list[OvenStretch] = Field(
        [], max_length=20, description="Before the oven's set point is held; in place of the binder card's"
    )
    furnace_programme: list[FurnaceStretch] = Field(
        [], max_length=40, description="In place of the powder card's"
    )


TABLES: dict[str, type[BaseModel]] = {
    "order": OrderTable,
    "cards": CardsTable,
    "choices": ChoicesTable,
    "nesting": NestingTable,
    "part": PartTable,
    "datum": DatumTable,
    "dimension": DimensionTable,
    "coupon": CouponTable,
    "oven_programme": OvenStretch,
    "furnace_programme": FurnaceStretch,
}

PLACES: dict[str, tuple[tuple[float, float], ...]] = {
    "corners": ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)),
    "five": ((0.0, 0.0), (1.0, 0.0), (0.5, 0.5), (0.0, 1.0), (1.0, 1.0)),
    "nine": tuple((x, y) for y in (0.0, 0.5, 1.0) for x in (0.0, 0.5, 1.0)),
}
