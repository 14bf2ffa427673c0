"""The house in counts: what no single test sees. A bound falls with the work, it does not rise."""

import ast
import re
from collections import Counter, defaultdict
from functools import cache
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "sagger"
# Rooms that stand side by side, see pyproject.toml: in such a row a module's name is used once, but for the
# same thing on two floors.
ROWS = (
    ("desk",),
    ("stations",),
    ("views", "ledger", "files", "cards"),
    ("physics", "geometry"),
    ("statistics",),
    ("goods",),
)
SAME = {"bed", "boxes", "learned", "lots", "order", "parts", "readings", "trace"}

MOST_ANY = 100  # lines that say Any
MOST_TABLES = 30  # dictionaries of anything, and uses of a name for one
BODY, PARAMETERS, LINES = 40, 6, 3
# Names that say nothing of what they hold may live for three lines; in these rooms none lives longer.
GENERIC = {"each", "found", "said", "told", "kept", "what", "form"}
TIDY = {
    "cards",
    "cli",
    "compiled",
    "desk",
    "files",
    "geometry",
    "goods",
    "ledger",
    "physics",
    "stations",
    "statistics",
    "views",
    "web",
}


@cache
def modules():
    """Text and tree of every module, by its path below the package."""
    paths = sorted(SOURCE.rglob("*.py"))
    texts = {path.relative_to(SOURCE): path.read_text() for path in paths}
    return {path: (text, ast.parse(text)) for path, text in texts.items()}


def functions():
    for path, (_, tree) in modules().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{path}:{node.lineno} {node.name}", node


def body_lines(node):
    """Lines of a function's body without its docstring."""
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


def parameters(node):
    a = node.args
    return len(a.posonlyargs) + len(a.args) + len(a.kwonlyargs) + bool(a.vararg) + bool(a.kwarg)


def names_for_tables():
    """By module, names given to a mapping of anything: `Facts = dict[str, Any]`."""
    named = re.compile(
        r"^(\w+)\s*(?:: TypeAlias )?= (?:list\[)?(?:dict|Mapping|MutableMapping)\[str, Any\]", re.M
    )
    return {path: named.findall(text) for path, (text, _) in modules().items()}


@pytest.mark.slow
def test_few_lines_say_any():
    lines = [line for text, _ in modules().values() for line in text.splitlines()]
    assert sum(bool(re.search(r"\bAny\b", line)) for line in lines) <= MOST_ANY


def test_documents_are_goods():
    told = sum(len(re.findall(r"\b(?:dict|Mapping)\[str, Any\]", text)) for text, _ in modules().values())
    for path, names in names_for_tables().items():
        told += sum(len(re.findall(rf"\b{name}\b", modules()[path][0])) - 1 for name in names)
    assert told <= MOST_TABLES


@pytest.mark.slow
def test_a_class_name_means_one_thing():
    nodes = (node for _, tree in modules().values() for node in ast.walk(tree))
    used = Counter(node.name for node in nodes if isinstance(node, ast.ClassDef))
    assert [name for name, count in used.items() if count > 1] == []


@pytest.mark.slow
def test_bodies_are_short():
    assert [name for name, node in functions() if body_lines(node) > BODY] == []


@pytest.mark.slow
def test_calls_are_narrow():
    assert [name for name, node in functions() if parameters(node) > PARAMETERS] == []


@pytest.mark.slow
def test_generic_names_live_for_three_lines():
    long = []
    for name, node in functions():
        lines = defaultdict(list)
        for inner in ast.walk(node):
            if isinstance(inner, ast.Name | ast.arg) and (word := getattr(inner, "id", None) or inner.arg):
                lines[word].append(inner.lineno)
        spans = {word: max(lines[word]) - min(lines[word]) + 1 for word in GENERIC & lines.keys()}
        if name.split("/")[0] in TIDY:
            long += [f"{name}: {word}" for word, span in spans.items() if span > LINES]
    assert long == []


def test_a_module_name_stands_once_in_a_row():
    for row in ROWS:
        where = defaultdict(list)
        for path in modules():
            if path.parts[0] in row and not path.stem.startswith("_") and "versions" not in path.parts:
                where[path.stem].append(path)
        assert {name for name, paths in where.items() if len(paths) > 1} <= SAME, row
