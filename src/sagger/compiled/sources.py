"""Which files of this program a module's machine code is made from."""

from __future__ import annotations

import functools
import hashlib
import re
from pathlib import Path

PACKAGE = Path(__file__).parents[1]
_IMPORT = re.compile(r"^ *from (sagger[\w.]*) import (\([^)]*\)|[^\n]*)", re.MULTILINE)
_ASIDE = re.compile(r"#[^\n]*| as \w+")


def digest(module: str) -> str:
    """Twelve letters that change with the text of a module or of anything of this program that it imports."""
    text = hashlib.sha256()
    for name in sorted(reached(module)):
        text.update(_source(name).encode())
    return text.hexdigest()[:12]


def reached(module: str) -> set[str]:
    """This module and all that it imports, of this program."""
    modules, open_ends = {module}, [module]
    while open_ends:
        for name in _imported(open_ends.pop()):
            if name not in modules:
                modules.add(name)
                open_ends.append(name)
    return modules


@functools.cache
def _imported(module: str) -> frozenset[str]:
    names = set()
    for base, listed in _IMPORT.findall(_source(module)):
        names.add(base)
        names |= {f"{base}.{word}" for word in re.findall(r"\w+", _ASIDE.sub("", listed))}
    return frozenset(name for name in names if _source(name))


@functools.cache
def _source(module: str) -> str:
    path = PACKAGE.joinpath(*module.split(".")[1:])
    for file in (path.with_suffix(".py"), path / "__init__.py"):
        if file.is_file():
            return file.read_text("utf-8")
    return ""
