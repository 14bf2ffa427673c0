"""plan.json as a whole: a job that was planned, or one that intake stopped."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from sagger.views.plan.asked import BedOut, FactorsOut, Leaf, OrderOut, PartOut, PieceOut, PlacedFinding, says
from sagger.views.plan.box import (
    BinderOut,
    BoxOut,
    CureOut,
    DepowderOut,
    DropsOut,
    DryingOut,
    LayersOut,
    PowderOut,
    TimesOut,
)
from sagger.views.plan.mould import MouldOut
from sagger.views.plan.outcome import QuoteOut, SinterOut

SCHEMA: Final = "sagger-plan/1"


class CardOut(Leaf):
    """A card the job used."""

    kind: str = says("powder, binder, head, box, oven, furnace, shop")
    name: str
    title: str


class WeakOut(Leaf):
    """A figure that rests on memory or assumption."""

    card: str
    figure: str
    printed: str = says("as written on the card")
    standing: Literal["memory", "assumed"]
    source: str


class CautionOut(Leaf):
    """A usual caution; not a safety assessment."""

    key: str
    step: str
    text: str
    defer_to: str
    source: str
    standing: str


class Refused(Leaf):
    """A job that intake stopped: only what was found."""

    schema_: Literal["sagger-plan/1"] = Field(alias="schema", description="name and version of this format")
    state: Literal["refused"]
    notice: str
    edition: str = says("of the program that made it")
    order: OrderOut
    parts: list[PartOut]
    findings: list[PlacedFinding]


class Plan(Leaf):
    """A whole job. `layers` to `depowder` repeat the first box; `boxes` has every box."""

    schema_: Literal["sagger-plan/1"] = Field(alias="schema", description="name and version of this format")
    state: Literal["planned"]
    notice: str
    edition: str = says("of the program that made it")
    order: OrderOut
    cards: list[CardOut]
    parts: list[PartOut]
    bed: BedOut
    factors: FactorsOut
    pieces: list[PieceOut] = says("of all boxes")
    layers: LayersOut = says("of the first box")
    drops: DropsOut = says("of the first box")
    binder: BinderOut = says("of the first box")
    powder: PowderOut = says("of the first box")
    times: TimesOut = says("of the first box")
    drying: DryingOut = says("of the first box")
    cure: CureOut = says("of the first box")
    depowder: DepowderOut = says("of the first box")
    boxes: list[BoxOut]
    sinter: SinterOut | None = says("null for sand, which stops after the oven")
    mould: MouldOut | None = says("null unless the powder is sand")
    quote: QuoteOut
    cautions: list[CautionOut]
    findings: list[PlacedFinding] = says("of all steps")
    weak_figures: list[WeakOut]
    sources: dict[str, str] = says("key to full reference, of the cards used")


Document = Annotated[Plan | Refused, Field(discriminator="state")]
