"""Which function of the program names which, and which laws the tests name, read from syntax trees.

Nothing is imported or run. A definition is told as "module:name", without the program's own name in front. A
class counts with all its methods, a table of a module (`LAWS = {...}`) as a function that names what stands
in it. What is found by a name in text, or by an attribute of a value, is not seen.
"""

from __future__ import annotations

import ast
import functools
import gc
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

HERE = Path(__file__).parent
SOURCE = HERE.parent / "src" / "sagger"
LAW_ROOMS = ("physics", "statistics")
ASKED_FROM = (
    "line",
    "desk",
    "cli",
    "web",
    "cards",
    "views",
    "files",
    "ledger",
    "",
)  # "": the package's own page
MONEY = "stations.cost.money"  # laws that stand in the one station that needs them
MARKS = ("outside", "nature")  # of tests that hold a law
Graph = Mapping[str, Iterable[str]]
Trees = Mapping[str, ast.Module]
Names = Mapping[str, str]  # of a module: what each name there stands for, "module:" or "module:definition"


@functools.cache
def program() -> dict[str, frozenset[str]]:
    """Each definition of the program with the definitions that it names."""
    whole = _everything()
    own = _source_trees()
    return {definition: named for definition, named in whole.items() if definition.partition(":")[0] in own}


@functools.cache
def _everything() -> dict[str, frozenset[str]]:
    """The same of the program and its tests."""
    gc.disable()  # it would walk the trees, of which all are kept, over and over
    try:
        return graph({**_source_trees(), **_test_trees()})
    finally:
        gc.freeze()
        gc.enable()


@functools.cache
def _source_trees() -> dict[str, ast.Module]:
    return parsed(SOURCE, "sagger")


@functools.cache
def live() -> frozenset[str]:
    """All that a person can come to: from the line, the desk, commands, pages, cards and views."""
    roots = [definition for definition in program() if room(definition) in ASKED_FROM]
    return frozenset(reached_from(roots, program()))


@functools.cache
def users() -> dict[str, frozenset[str]]:
    """Each definition with those that name it and are live."""
    turned: dict[str, set[str]] = defaultdict(set)
    for definition in live():
        for other in program().get(definition, ()):
            turned[other].add(definition)
    return {definition: frozenset(others) for definition, others in turned.items()}


def among_laws(definition: str) -> bool:
    """Whether a definition stands where the laws stand."""
    return room(definition) in LAW_ROOMS or definition.startswith(f"{MONEY}:")


def is_law(definition: str) -> bool:
    """Whether a definition is a function there that others may call."""
    return among_laws(definition) and definition.partition(":")[2][:1].islower()


def asked(law: str) -> list[str]:
    """The definitions that are no laws and name a law, or name what names it."""
    seen, ends, found = {law}, [law], set()
    while ends:
        for user in users().get(ends.pop(), frozenset()) - seen:
            seen.add(user)
            if among_laws(user):
                ends.append(user)
            else:
                found.add(user)
    return sorted(found)


def asked_laws() -> list[str]:
    """Laws that something outside their rooms names itself: what the steps stand on."""
    return sorted(
        law for law in live() if is_law(law) and not all(among_laws(user) for user in users().get(law, ()))
    )


@functools.cache
def held() -> dict[str, frozenset[str]]:
    """Laws that a test in tests/nature names, or one marked `outside` or `nature`, with those tests."""
    whole = _everything()
    found: dict[str, set[str]] = defaultdict(set)
    for test in _holding_tests():
        ends, seen = [test], {test}
        while ends:
            for other in set(whole.get(ends.pop(), ())) - seen:
                seen.add(other)
                if other.partition(":")[0] in _test_trees():
                    ends.append(other)  # a helper or fixture of the tests
                else:
                    found[other].add(test)
    return {law: frozenset(tests) for law, tests in found.items()}


def room(definition: str) -> str:
    """The room of the house that a definition stands in."""
    return definition.partition(":")[0].partition(".")[0]


def parsed(folder: Path, package: str) -> dict[str, ast.Module]:
    """Syntax trees of a package by module, "" for its own page."""
    return {
        _module(path.relative_to(folder)): _without(ast.parse(path.read_text("utf-8")), package)
        for path in folder.rglob("*.py")
    }


def graph(trees: Trees) -> dict[str, frozenset[str]]:
    """Each definition with those that it names; loose statements count as their module's."""
    scopes = {module: _bound(tree, module, trees) for module, tree in trees.items()}
    named: dict[str, set[str]] = defaultdict(set)
    for module, tree in trees.items():
        for statement in tree.body:
            for definition in _defined(statement, module):
                named[definition] |= set(_reached(statement, scopes, module))
    return {definition: frozenset(others - {definition}) for definition, others in named.items()}


def reached_from(roots: Iterable[str], whole: Graph) -> set[str]:
    """All that is named by these, or by what these name, and so on."""
    seen, ends = set(roots), list(roots)
    while ends:
        here = ends.pop()
        fresh = {*whole.get(here, ()), f"{here.partition(':')[0]}:"} - seen
        seen |= fresh
        ends += fresh
    return seen


@functools.cache
def _test_trees() -> dict[str, ast.Module]:
    """Of all tests, as "tests.room.test_…", and of what they share, by the name it is imported under."""
    paths = [path for path in HERE.rglob("*.py") if path.stem != "conftest"]
    names = [
        f"tests.{path.parent.name}.{path.stem}" if path.stem[:5] == "test_" else path.stem for path in paths
    ]
    texts = [_without(ast.parse(path.read_text("utf-8")), "sagger") for path in paths]
    return dict(zip(names, texts, strict=True))


def _holding_tests() -> Iterator[str]:
    for module, tree in _test_trees().items():
        whole = module.startswith("tests.nature.") or _marked(tree.body)
        for statement in tree.body:
            if (
                isinstance(statement, ast.FunctionDef)
                and statement.name.startswith("test_")
                and (whole or any(_is_mark(node) for node in statement.decorator_list))
            ):
                yield f"{module}:{statement.name}"


def _marked(body: list[ast.stmt]) -> bool:
    """Whether all tests of a module bear a mark."""
    for statement in body:
        if isinstance(statement, ast.Assign) and ast.unparse(statement.targets[0]) == "pytestmark":
            return any(_is_mark(node) for node in ast.walk(statement.value))
    return False


def _is_mark(node: ast.AST) -> bool:
    called = node.func if isinstance(node, ast.Call) else node
    return _chain(called)[:2] == ["pytest", "mark"] and _chain(called)[-1] in MARKS


def _module(path: Path) -> str:
    return ".".join(part for part in path.with_suffix("").parts if part != "__init__")


def _without(tree: ast.Module, package: str) -> ast.Module:
    """The tree with imports of a package told as the modules are."""
    for node in _imports(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            if f"{node.module}.".startswith(f"{package}."):
                node.module = node.module.removeprefix(package).removeprefix(".")
            elif node.module in sys.stdlib_module_names:  # `statistics` is a room of ours as well
                node.module = f"python.{node.module}"
    return tree


def _defined(statement: ast.stmt, module: str) -> list[str]:
    """What a statement of a module defines; loose ones belong to the module."""
    targets: list[ast.expr] = []
    match statement:
        case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name) | ast.ClassDef(name=name):
            return [f"{module}:{name}"]
        case ast.Assign():
            targets = statement.targets
        case ast.AnnAssign():
            targets = [statement.target]
    names = [node.id for target in targets for node in ast.walk(target) if isinstance(node, ast.Name)]
    return [f"{module}:{name}" for name in names] or [f"{module}:"]


def _bound(tree: ast.Module, module: str, trees: Trees) -> dict[str, str]:
    """What each name of a module stands for."""
    scope = {}
    for statement in tree.body:
        for definition in _defined(statement, module):
            scope[definition.partition(":")[2]] = definition
    for node in _imports(tree):
        scope.update(_imported(node, trees))
    return scope


@functools.cache
def _imports(tree: ast.Module) -> tuple[ast.Import | ast.ImportFrom, ...]:
    return tuple(node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom))


def _imported(node: ast.AST, trees: Trees) -> Iterator[tuple[str, str]]:
    if isinstance(node, ast.Import):
        yield from ((each.name, f"{each.name}:") for each in node.names if each.name in trees)
    if isinstance(node, ast.ImportFrom) and node.module in trees:
        for each in node.names:
            inner = f"{node.module}.{each.name}".removeprefix(".")
            yield each.asname or each.name, f"{inner}:" if inner in trees else f"{node.module}:{each.name}"


def _reached(statement: ast.stmt, scopes: Mapping[str, Names], module: str) -> Iterator[str]:
    """What a statement names, each part of a dotted name followed as far as it leads."""
    if isinstance(statement, ast.FunctionDef) and module.startswith("tests."):
        for name in _arguments(statement):  # a fixture is handed over by its name
            yield from _followed([name], module, scopes)
    for node, hidden in _nodes(statement):
        chain = _chain(node)
        if chain and chain[0] not in hidden:
            yield from _followed(chain, module, scopes)


def _followed(chain: list[str], module: str, scopes: Mapping[str, Names]) -> Iterator[str]:
    here = module
    for name in chain:
        thing = scopes.get(here, {}).get(name)
        while thing and thing[-1] != ":" and thing != (further := _further(thing, scopes)):
            thing = further  # handed on by the room's first page
        if thing is None:
            return
        yield thing
        if thing[-1] != ":":
            return
        here = thing[:-1]


def _further(thing: str, scopes: Mapping[str, Names]) -> str:
    """What a name of another module stands for there; itself where that module defines it."""
    module, _, name = thing.partition(":")
    return scopes.get(module, {}).get(name, thing)


def _nodes(top: ast.AST) -> Iterator[tuple[ast.AST, frozenset[str]]]:
    """Each name in use below a node, with the names that are the function's own there."""
    ends: list[tuple[ast.AST, frozenset[str]]] = [(top, frozenset())]
    while ends:
        node, hidden = ends.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            hidden = hidden | _local(node)
        if isinstance(node, ast.Attribute) and _chain(node):
            yield node, hidden
            continue
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node, hidden
        ends += [(child, hidden) for child in ast.iter_child_nodes(node)]


def _arguments(function: ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda) -> list[str]:
    given = function.args
    plain = [*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg]
    return [argument.arg for argument in plain if argument]


def _local(function: ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda) -> set[str]:
    """Names that a function binds itself, imports left out."""
    names = set(_arguments(function))
    body = function.body if isinstance(function.body, list) else [function.body]
    for node in (inner for statement in body for inner in ast.walk(statement)):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            names.add(node.id)
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            names.add(node.name)
    return names


def _chain(node: ast.AST) -> list[str]:
    """A dotted name in its parts; empty for anything else."""
    if isinstance(node, ast.Name):
        return [node.id]
    if isinstance(node, ast.Attribute):
        inner = _chain(node.value)
        return [*inner, node.attr] if inner else []
    return []
