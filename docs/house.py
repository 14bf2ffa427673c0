"""Makes the lists of house.md: `python docs/house.py` rewrites them from the tree and its import rules."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parent
SOURCE = HERE.parent / "src" / "sagger"
PAGE = HERE / "house.md"
MARK = "<!-- what follows is made by docs/house.py; do not edit -->"


def lists() -> str:
    """Rooms by row, their inner rooms, stations and goods, each with its own first line."""
    return "\n".join([MARK, "", *_rooms(), *_inner(), *_stations(), *_goods()])


def first_line(path: Path) -> str:
    """What a module or package says it is."""
    module = path / "__init__.py" if path.is_dir() else path
    said = ast.get_docstring(ast.parse(module.read_text("utf-8"))) or ""
    return said.partition("\n")[0].replace("|", "\\|")


def _layers(container: str) -> list[str]:
    """Rows of a container, highest first, as the import rules have them."""
    rules = tomllib.loads((HERE.parent / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    found = [
        rule for rule in rules["contracts"] if rule["type"] == "layers" and rule["containers"] == [container]
    ]
    return found[0]["layers"] if found else []


def _table(*heading: str) -> Iterator[str]:
    yield _row(heading)
    yield _row(["---"] * len(heading))


def _row(cells: tuple[str, ...] | list[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _there(name: str, under: Path) -> Path:
    folder = under / name
    return folder if folder.is_dir() else under / f"{name}.py"


def _rooms() -> Iterator[str]:
    yield from ("## Rooms, from the faces down", "")
    yield "Each imports only from rows below its own; those of one row do not know each other."
    yield ""
    yield from _table("row", "room", "holds")
    for number, layer in enumerate(_layers("sagger"), 1):
        for name in layer.split(" | "):
            yield _row([str(number), f"`{name}`", first_line(_there(name, SOURCE))])
    yield ""


def _inner() -> Iterator[str]:
    yield from ("## Inner rooms", "")
    yield "From the top down where rows are given; without one they do not know each other."
    yield ""
    yield from _table("room", "row", "inner room", "holds")
    for room in ("physics", "geometry", "desk", "views", "web"):
        rows = {
            name: str(number)
            for number, layer in enumerate(_layers(f"sagger.{room}"), 1)
            for name in layer.split(" | ")
        }
        for path in sorted((SOURCE / room).iterdir(), key=lambda path: (rows.get(path.name, "9"), path.name)):
            if (path / "__init__.py").exists():
                yield _row([f"`{room}`", rows.get(path.name, ""), f"`{path.name}`", first_line(path)])
    yield ""


def _stations() -> Iterator[str]:
    yield from ("## Stations", "")
    yield "No station knows another; what passes between them are goods."
    yield ""
    yield from _table("station", "answers", "calls")
    for path in sorted((SOURCE / "stations").iterdir()):
        if (path / "__init__.py").exists():
            yield _row([f"`{path.name}`", first_line(path), ", ".join(f"`{name}`" for name in _calls(path))])
    yield ""


def _calls(path: Path) -> list[str]:
    """Names a station offers, the verbs among them."""
    tree = ast.parse((path / "__init__.py").read_text("utf-8"))
    for node in tree.body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return [name for name in ast.literal_eval(node.value) if name.islower()]
    return []


def _goods() -> Iterator[str]:
    yield from ("## Goods", "")
    yield from ("What is handed on, frozen and light.", "")
    yield from _table("module", "holds")
    for path in sorted((SOURCE / "goods").glob("*.py")):
        if path.stem != "__init__":
            yield _row([f"`{path.stem}`", first_line(path)])
    yield ""


if __name__ == "__main__":
    text = PAGE.read_text("utf-8")
    PAGE.write_text(text[: text.index(MARK)] + lists(), "utf-8")
