"""What the pages say is there."""

import importlib.util
import re
from pathlib import Path

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


def test_the_page_of_checks_is_current():
    """If this fails: `python docs/checks.py` rewrites it."""
    spec = importlib.util.spec_from_file_location("checks", ROOT / "docs" / "checks.py")
    checks = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(checks)
    text = checks.PAGE.read_text(encoding="utf-8")
    assert text[text.index(checks.MARK) :] == checks.tables()
