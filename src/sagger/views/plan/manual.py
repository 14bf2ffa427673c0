"""The manual's page on plan.json, written from the schema."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sagger.views.plan.schema import schema

_HEAD = """# plan.json

What `sagger plan` leaves of a job, for people's own programs. The machine-readable form of this page is
[plan.schema.json](plan.schema.json); both are written from the code by `python -m sagger.views.plan docs`.

- `"schema": "sagger-plan/1"` is the first key. Keys may be added within version 1; none is renamed, removed
  or given another unit.
- A key that holds a measured quantity ends in its unit (`_mm`, `_um`, `_degC`, `_percent`, …). A key without
  one holds a name, a count, an index or a pure ratio such as the oversize factor `k`.
- `x`, `y`, `z` are the machine's axes: x along the spreading stroke, y across it, z up; the origin is a lower
  corner of the job box. A placement maps a column vector (x, y, z, 1) of the nominal part to the box, in mm.
- `"state": "planned"` is a whole job; `"state": "refused"` is one that intake stopped: parts and findings.
- A prediction that has an uncertainty carries it as a standard uncertainty (`u`).
- Planning aid, not a safety assessment. Follow the SDS, the equipment manual, your risk assessment and local
  law.
"""


def manual() -> str:
    """The page, in Markdown."""
    definitions = schema()["$defs"]
    order = ["Plan", "Refused", *sorted(name for name in definitions if name not in ("Plan", "Refused"))]
    return _HEAD + "".join("\n" + _section(name, definitions[name]) for name in order)


def _section(name: str, definition: dict[str, Any]) -> str:
    lines = [f"## {_title(name)}", "", definition.get("description", ""), "", "| key | holds | meaning |"]
    lines.append("|--|--|--|")
    for key, field in definition["properties"].items():
        lines.append(f"| `{key}` | {_holds(field)} | {field.get('description', '')} |")
    return "\n".join(lines) + "\n"


def _title(name: str) -> str:
    words = "".join(f" {sign.lower()}" if sign.isupper() else sign for sign in name.removesuffix("Out"))
    return words.strip()


def _holds(field: dict[str, Any]) -> str:
    """What kind of value a field holds, in words."""
    return " or ".join(_kinds(field))


def _kinds(field: dict[str, Any]) -> Iterator[str]:
    if "$ref" in field:
        title = _title(field["$ref"].rsplit("/", 1)[-1])
        yield f"[{title}](#{title.replace(' ', '-')})"
    elif "anyOf" in field:
        for choice in field["anyOf"]:
            yield from _kinds(choice)
    elif "enum" in field or "const" in field:
        yield ", ".join(f'"{choice}"' for choice in field.get("enum", [field.get("const")]))
    elif "prefixItems" in field:
        yield f"{len(field['prefixItems'])} × {_holds(field['prefixItems'][0])}"
    elif field.get("type") == "array":
        yield f"list of {_holds(field['items'])}"
    elif field.get("type") == "object":
        yield f"mapping of text to {_holds(field['additionalProperties'])}"
    else:
        yield {"string": "text", "integer": "whole number", "boolean": "true or false"}.get(
            field["type"], field["type"]
        )
