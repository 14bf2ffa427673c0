"""Makes checks.md: `python docs/checks.py` rewrites it from the cases in tests and the call graph."""

from __future__ import annotations

import sys
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
TESTS = HERE.parent / "tests"
sys.path.insert(0, str(TESTS))
import callgraph  # noqa: E402

PUBLISHED = TESTS / "published"
ELEMENTS = TESTS / "physics" / "solid_rows.toml"
PAGE = HERE / "checks.md"
MARK = "<!-- what follows is made by docs/checks.py; do not edit -->"
COLUMNS = ("law", "used by", "source", "where", "standing", "given", "expected", "cases")
STANDINGS = {
    "measured": "somebody measured it, and it is printed so",
    "read": "it stands in the source named, and was read there",
    "second hand": "it was read where somebody quotes that source: public code, tests, copies of tables",
    "worked": "by hand, or in a program written apart from this one",
    "memory": "from memory of the trade's literature, not looked up",
}
LONGEST = 110  # letters of a cell; the file itself has the rest
USERS = 3  # told by name; more are counted

Case = dict[str, Any]


def tables() -> str:
    """Counts, a heading and a table per file, what the finite elements and other tests hold."""
    pages = [(path, list(cases(path))) for path in sorted(PUBLISHED.glob("*.toml"))]
    lines = [MARK, "", *counts([case for _, found in pages for case in found])]
    for path, found in pages:
        title = path.stem.replace("_", " ")
        lines += [f"## {title}", "", f"[`{path.name}`](../tests/published/{path.name})", ""]
        lines += [_row(COLUMNS), _row(["---"] * len(COLUMNS)), *map(_row, rows(found)), ""]
    return "\n".join([*lines, *elements(), *by_tests({case["law"] for _, found in pages for case in found})])


def counts(found: list[Case]) -> Iterator[str]:
    """How many cases stand on what."""
    laws = {case["law"] for case in found}
    of_cases = Counter(case["standing"] for case in found)
    of_rows = Counter(row["standing"] for row in _elements())
    yield f"{len(found)} cases on {len(laws)} laws, {of_rows.total()} on the finite elements of sintering."
    yield from ("", _row(("standing", "means", "cases", "finite elements")), _row(["---"] * 4))
    for standing, meaning in STANDINGS.items():
        yield _row((_standing(standing), meaning, str(of_cases[standing]), str(of_rows[standing])))
    yield ""


def elements() -> Iterator[str]:
    """A heading and a table of what the finite elements of sintering are held against."""
    yield from ("## finite elements of sintering", "")
    yield from ("[`solid_rows.toml`](../tests/physics/solid_rows.toml)", "")
    yield _row(("what", "source", "standing", "expected", "allowed"))
    yield _row(["---"] * 5)
    for row in _elements():
        unit = row["unit"].removesuffix("-")
        allowed = f"± {100 * row['within']:g} %" if "within" in row else f"± {row['slack']:g} {unit}"
        expected = f"{row['expect']} {unit}".strip()
        yield _row([row["what"], row["source"], _standing(row["standing"]), expected, allowed.strip()])
    yield ""


def by_tests(with_cases: set[str]) -> Iterator[str]:
    """Laws that steps stand on without a case of their own, and the tests that hold them."""
    yield from ("## held by tests alone", "")
    yield "What must hold whatever the numbers, other ways to the same answer, and other people's programs."
    yield from ("", _row(("law", "used by", "tests")), _row(["---"] * 3))
    for law in callgraph.asked_laws():
        tests = callgraph.held().get(law, frozenset())
        if f"sagger.{law}" not in with_cases and tests:
            files = sorted({_file(test) for test in tests})
            yield _row((_law(law), used_by(law), ", ".join(f"[{path.stem}](../{path})" for path in files)))
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
        name = law.removeprefix("sagger.")
        yield [
            _law(name),
            used_by(name),
            _short(source),
            _short(first["where"]),
            _standing(standing),
            _short(_told(first["given"])),
            _short(_told(first["expect"]) + _slack(first)),
            str(len(members)),
        ]


def used_by(law: str) -> str:
    """The modules nearest to a law that are no laws themselves: stations first, then the others."""
    modules = sorted({user.partition(":")[0] for user in callgraph.asked(law)}, key=_nearness)
    more = f" and {len(modules) - USERS} more" if len(modules) > USERS else ""
    return ", ".join(f"`{module}`" for module in modules[:USERS]) + more


def _nearness(module: str) -> tuple[bool, str]:
    return not module.startswith("stations."), module


def _law(name: str) -> str:
    return f"`{name.replace(':', '.')}`"


def _file(test: str) -> Path:
    """Of "tests.room.test_…:name", from the project's folder."""
    return Path(*test.partition(":")[0].split(".")).with_suffix(".py")


def _elements() -> list[Case]:
    found: list[Case] = tomllib.loads(ELEMENTS.read_text(encoding="utf-8"))["row"]
    return found


def _standing(standing: str) -> str:
    return "from memory" if standing == "memory" else standing


def _group(case: Case) -> tuple[str, str, str]:
    return case["law"], case["source"], case["standing"]


def _told(value: object) -> str:
    """A value of the file in words: names with what they hold, lists with commas."""
    if isinstance(value, dict):
        parts = ((_name(key), _told(entry)) for key, entry in value.items() if key not in ("of", "part"))
        return ", ".join(f"{name} {told}".strip() for name, told in parts)
    if isinstance(value, list):
        return "; ".join(map(_told, value))
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


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def main() -> None:
    """Rewrite what follows the mark."""
    head, _, _ = PAGE.read_text(encoding="utf-8").partition(MARK)
    PAGE.write_text(head + tables(), encoding="utf-8")


if __name__ == "__main__":
    main()
