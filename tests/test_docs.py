"""What the pages say is there."""

import importlib.util
import re
import tomllib
from pathlib import Path

import pytest

from sagger.cli import COMMANDS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()


def test_the_readme_names_every_command_a_person_needs():
    missing = [name for name in COMMANDS if name != "warm" and f"sagger {name}" not in README]
    assert not missing


def test_every_link_of_the_readme_and_the_index_leads_somewhere():
    for page in (ROOT / "README.md", ROOT / "docs" / "why" / "README.md"):
        for link in re.findall(r"\]\(([^)#]+)\)", page.read_text()):
            target = page.parent / (f"{link}.md" if page.parent.name == "why" and "." not in link else link)
            assert target.exists(), f"{page.name}: {link}"


def test_every_decision_stands_in_the_index():
    index = (ROOT / "docs" / "why" / "README.md").read_text()
    pages = {path.name for path in (ROOT / "docs" / "why").glob("*.md")} - {"README.md"}
    assert {name for name in pages if name not in index} == set()


def script(name):
    spec = importlib.util.spec_from_file_location(name, ROOT / "docs" / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_of_the_house_is_the_tree():
    """If this fails: `python docs/house.py` rewrites it."""
    house = script("house")
    text = house.PAGE.read_text(encoding="utf-8")
    assert text[text.index(house.MARK) :] == house.lists()
    for room in (path for path in house.SOURCE.iterdir() if (path / "__init__.py").exists()):
        assert f"`{room.name}`" in text[text.index(house.MARK) :], room.name
    named = re.findall(r"^\| `(\w+)` \|", text[text.index("## Stations") : text.index("## Goods")], re.M)
    stations = {path.parent.name for path in house.SOURCE.glob("stations/*/__init__.py")}
    assert set(named) == stations


def test_the_page_of_checks_is_current():
    """If this fails: `python docs/checks.py` rewrites it."""
    checks = script("checks")
    text = checks.PAGE.read_text(encoding="utf-8")
    assert text[text.index(checks.MARK) :] == checks.tables()


@pytest.mark.slow
def test_each_library_stands_with_the_rooms_that_import_it():
    """The page of dependencies: a row for each one installed, and only for those."""
    page = (ROOT / "docs" / "why" / "dependencies.md").read_text()
    rows = dict(re.findall(r"^\| ([a-z0-9-]+) \| ([a-z, ]+) \|", page, re.MULTILINE))
    del rows["library"]
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert set(rows) == {re.match("[a-z0-9-]+", line)[0] for line in project["dependencies"]}
    names = {
        "pillow": "PIL",
        "fast-simplification": "fast_simplification",
        "numba": r"(?:numba|sagger\.compiled)",
    }
    found = {library: set() for library in rows}
    for path in (ROOT / "src" / "sagger").glob("*/**/*.py"):
        text, room = path.read_text(), path.relative_to(ROOT / "src" / "sagger").parts[0]
        for library in rows:
            if re.search(rf"^ *(?:from|import) {names.get(library, library)}\b", text, re.MULTILINE):
                found[library].add(room)
    assert {library: set(rooms.split(", ")) for library, rooms in rows.items() if rooms != "everywhere"} == {
        library: rooms for library, rooms in found.items() if library != "numpy"
    }


def test_every_item_of_the_page_of_asvs_is_answered_once_and_by_tests_that_are_there():
    """253 requirements of levels 1 and 2 (OWASP ASVS 5.0.0, its CSV file)."""
    page = (ROOT / "docs" / "asvs.md").read_text("utf-8")
    items = []
    for row in re.findall(r"^\| ([\d., -]+) \|", page, re.MULTILINE):
        for first, last in re.findall(r"(\d+\.\d+\.\d+)(?:-(\d+\.\d+\.\d+))?", row):
            section, _, number = first.rpartition(".")
            end = int(last.rpartition(".")[2]) if last else int(number)
            items += [f"{section}.{each}" for each in range(int(number), end + 1)]
    assert len(items) == len(set(items)) == 253
    named = set(re.findall(r"tests/[\w/]+\.py", page))
    assert named and [name for name in named if not (ROOT / name).is_file()] == []


def test_what_was_tried_against_it_is_held_by_tests_that_are_there():
    named = re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", (ROOT / "docs" / "tried.md").read_text("utf-8"))
    assert len(named) > 40
    for file, name in named:
        assert f"def {name}(" in (ROOT / file).read_text("utf-8") if name else (ROOT / file).is_file(), name


def test_the_list_of_components_names_every_library_that_is_locked_with_its_digests():
    made = script("components").document()
    assert {part["name"] for part in made["components"]} == set(script("licences").locked())
    assert all(part["hashes"] for part in made["components"])
    assert (made["bomFormat"], made["specVersion"]) == ("CycloneDX", "1.6")


def test_every_tool_is_pinned_and_hashed():
    lines = (ROOT / "requirements-uv.lock").read_text().splitlines()
    assert re.match(r"uv==\d", lines[0]) and all(
        "--hash=sha256:" in line for line in lines[1:] if line.strip()
    )
    recipe = (ROOT / "Makefile").read_text()
    assert "--require-hashes" in recipe and not re.search(r'install[^\n]*"[a-z]+>=', recipe)
