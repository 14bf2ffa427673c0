"""The tables of an order file that say by hand what a drawing asks for."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from sagger.files import order_stated
from sagger.files.order_values import Bleed, Gap, Named, Where
from sagger.goods.stated import StatedDatum, StatedLine

What = Literal[
    "diameter", "radius", "distance", "thickness", "angle",
    "straightness", "flatness", "roundness", "cylindricity",
    "parallelism", "perpendicularity", "angularity", "position", "concentricity", "symmetry", "runout",
    "profile", "roughness",
]  # fmt: skip


SIZES = ("diameter", "radius", "distance", "thickness")


class FormTable(BaseModel):
    """A table that takes its own keys only."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class DatumTable(FormTable):
    name: str = Field(min_length=1, max_length=3, description="Its letter")
    face: Where = Field(
        description="The face it is taken from, by size and place", examples=["plane at 0, 0, 12 facing z"]
    )


class DimensionTable(FormTable):
    what: What = Field(description="What is asked for")
    of: Named = Field(
        description="Of which face, by size and place, or by the name of another dimension",
        examples=["bore 8 mm at 12, 30, 5 along z"],
    )
    limit: str = Field(
        description="What is allowed: of sizes ± or two deviations or two ends or a class; of form and "
        "place a width; of roughness Ra, Rq or Rz",
        examples=["±0.1 mm", "+0.2 mm 0 mm", "7.9 mm to 8.1 mm", "H11", "ISO 2768-m", "0.3 mm", "Ra 6.3 um"],
    )
    name: str = Field("", description="What it is called on papers")
    to: list[Named] = Field([], max_length=3, description="The face at its other end, or letters of datums")
    size: Literal["two-point", "least squares", "inscribed", "circumscribed", "envelope"] = Field(
        "two-point", description="How a size is taken (ISO 14405-1)"
    )
    zone: Literal["", "round", "sphere"] = Field("", description="Form of a zone that is not between planes")
    material: Literal["", "most", "least"] = Field("", description="Bonus of maximum or least material")
    machined: Gap | None = Field(
        None,
        description="Stock put on this face and cut off after sintering: no promise as sintered; 0 mm if "
        "the part file has it already",
    )
    offset: Bleed | None = Field(
        None,
        description="The faces of a size are drawn so much further out of the material; below zero into it",
        examples=["0.02 mm", "-0.05 mm"],
    )

    @model_validator(mode="after")
    def _fits(self) -> DimensionTable:
        """Limits depend on what is asked for."""
        order_stated.checked(self.what, self.limit, len(self.to))
        if self.offset is not None and (self.what not in SIZES or self.machined is not None):
            raise ValueError("offset: it is for diameters, radii, distances and thicknesses that are not cut")
        return self


def datum(table: DatumTable) -> StatedDatum:
    """The datum that a table says."""
    return StatedDatum(name=table.name, face=order_stated.face(table.face))


def dimension(table: DimensionTable) -> StatedLine:
    """The dimension or tolerance that a table says."""
    return StatedLine(
        name=table.name,
        what=table.what,
        of=order_stated.face_or_name(table.of),
        to=tuple(order_stated.face_or_name(end) for end in table.to),
        limit=order_stated.limit(table.limit, table.what),
        size=table.size,
        zone=table.zone,
        material=table.material,
        machined_mm=None if table.machined is None else order_stated.length(table.machined),
        offset_mm=None if table.offset is None else order_stated.length(table.offset),
    )
