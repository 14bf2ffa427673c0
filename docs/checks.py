"""Makes checks.md: `python docs/checks.py` rewrites it from tests/published and solid_rows.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PUBLISHED = HERE.parent / "tests" / "published"
ELEMENTS = HERE.parent / "tests" / "physics" / "solid_rows.toml"
PAGE = HERE / "checks.md"
MARK = "<!-- what follows is made by docs/checks.py; do not edit -->"
COLUMNS = ("law", "source", "where", "standing", "given", "expected", "cases")
LONGEST = 110  # letters of a cell; the file itself has the rest

Case = dict[str, Any]


def tables() -> str:
    """A heading and a table per file: one row per law, source and standing, told by its first case."""
    pages = [(path, list(cases(path))) for path in sorted(PUBLISHED.glob("*.toml"))]
    lines = [MARK, ""]
    for path, found in pages:
        title = path.stem.replace("_", " ")
        lines += [f"## {title}", "", f"[`{path.name}`](../tests/published/{path.name})", ""]
        lines += [_row(COLUMNS), _row(["---"] * len(COLUMNS)), *map(_row, rows(found)), ""]
    return "\n".join([*lines, *elements()])


def elements() -> Iterator[str]:
    """A heading and a table of what the finite elements of sintering are held against."""
    yield from ("## finite elements of sintering", "")
    yield from ("[`solid_rows.toml`](../tests/physics/solid_rows.toml)", "")
    yield _row(("what", "source", "standing", "expected", "allowed"))
    yield _row(["---"] * 5)
    for row in tomllib.loads(ELEMENTS.read_text(encoding="utf-8"))["row"]:
        unit = row["unit"].removesuffix("-")
        allowed = f"± {100 * row['within']:g} %" if "within" in row else f"± {row['slack']:g} {unit}"
        expected = f"{row['expect']} {unit}".strip()
        yield _row([row["what"], row["source"], row["standing"], expected, allowed.strip()])
    yield ""


def cases(path: Path) -> Iterator[Case]:
    """The cases of one file, each with its law."""
    page = tomllib.loads(path.read_text(encoding="utf-8"))
    for entry in page["case"]:
        yield {"law": page.get("law")} | entry


def rows(found: list[Case]) -> Iterator[list[str]]:
    """Cells of one row per law, source and standing, in order of the law's name."""
    ordered = sorted(found, key=_group)
    for (law, source, standing), alike in groupby(ordered, key=_group):
        members = list(alike)
        first = members[0]
        name = law.removeprefix("sagger.").replace(":", ".")
        yield [
            f"`{name}`",
            _short(source),
            _short(first["where"]),
            standing,
            _short(_said(first["given"])),
            _short(_said(first["expect"]) + _slack(first)),
            str(len(members)),
        ]


def _group(case: Case) -> tuple[str, str, str]:
    return case["law"], case["source"], case["standing"]


def _said(value: object) -> str:
    """A value of the file in words: names with what they hold, lists with commas."""
    if isinstance(value, dict):
        parts = ((_name(key), _said(entry)) for key, entry in value.items() if key != "of")
        return ", ".join(f"{name} {said}".strip() for name, said in parts)
    if isinstance(value, list):
        return "; ".join(map(_said, value))
    return f"{value:g}" if isinstance(value, float) else str(value).removesuffix(" -")


def _name(key: str) -> str:
    """Of an input or an answer; an answer's place in a row is none."""
    return "" if key.isdigit() else key.replace("_", " ")


def _slack(case: Case) -> str:
    if "slack" not in case:
        return ""
    allowed = case["slack"]
    return f" (± {allowed})" if isinstance(allowed, str) else f" (± {100 * allowed:g} %)"


def _short(text: str) -> str:
    one = " ".join(text.split()).replace("|", "/")
    return one if len(one) <= LONGEST else one[: LONGEST - 1].rstrip(" ,;") + "…"


def _row(cells: Any) -> str:
    return f"| {' | '.join(cells)} |"


def main() -> None:
    """Rewrite what follows the mark."""
    head, _, _ = PAGE.read_text(encoding="utf-8").partition(MARK)
    PAGE.write_text(head + tables(), encoding="utf-8")


if __name__ == "__main__":
    main()
