"""The JSON Schema of plan.json."""

from __future__ import annotations

import functools
import types
import typing
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, create_model

from sagger.views.plan.rows import PlanRow, PlanTable
from sagger.views.plan.whole import PLAN, REFUSED


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of plan.json."""
    planned, refused = _model(PLAN), _model(REFUSED)
    either: Any = Annotated[planned | refused, Field(discriminator="state_")]
    made = TypeAdapter[Any](either).json_schema(by_alias=True, mode="serialization")
    title = "plan.json, what Sagger leaves of a job"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title} | made


@functools.cache
def _model(table: PlanTable) -> type[BaseModel]:
    fields: dict[str, Any] = {f"{row.key}_": _field(row) for row in table.rows}  # pydantic has a "schema"
    return create_model(table.name, __config__=ConfigDict(extra="forbid"), __doc__=table.meaning, **fields)


def _field(row: PlanRow) -> tuple[Any, Any]:
    kind: Any = _type(row.kind)
    return kind | None if row.optional else kind, Field(alias=row.key, description=row.meaning)


def _type(kind: Any) -> Any:
    """What pydantic calls this kind: tables are models."""
    if isinstance(kind, PlanTable):
        return _model(kind)
    inner, origin = typing.get_args(kind), typing.get_origin(kind)
    if origin in (list, tuple, dict):
        return types.GenericAlias(origin, tuple(_type(each) for each in inner))
    return kind
