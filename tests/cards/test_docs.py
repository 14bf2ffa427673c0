"""The pages made from cards and locks are current."""

import importlib.util
from pathlib import Path

import pytest

from sagger.cards.page import MARK, tables

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.slow
def test_docs_cards_is_current():
    """If this fails: `python -m sagger.cards.page docs/cards.md` rewrites the tables."""
    text = (DOCS / "cards.md").read_text(encoding="utf-8")
    assert text[text.index(MARK) :] == tables()


def licences():
    spec = importlib.util.spec_from_file_location("licences", DOCS / "licences.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
def test_docs_licences_is_current():
    """If this fails: `python docs/licences.py` rewrites the table."""
    made = licences()
    text = (DOCS / "licences.md").read_text(encoding="utf-8")
    assert text[text.index(made.MARK) :] == made.table()


def test_every_locked_library_has_its_licence_listed():
    made = licences()
    text = (DOCS / "licences.md").read_text(encoding="utf-8").lower().replace("_", "-")
    missing = [name for name in made.locked() if f"| {name} |" not in text]
    assert made.locked() and not missing
