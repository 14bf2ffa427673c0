"""What is written as TOML is read back as it was."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from sagger.cards.read import KINDS, SHIPPED
from sagger.files import toml

words = some.text(some.characters(exclude_categories=("Cs",)), max_size=12)
plain = (
    words
    | some.booleans()
    | some.integers(-(2**62), 2**62)
    | some.floats(allow_nan=False, allow_infinity=False)
)
rows = some.lists(some.dictionaries(words, plain, max_size=3), min_size=1, max_size=3)
tables = some.dictionaries(
    words,
    plain | some.lists(plain, max_size=3) | rows | some.dictionaries(words, plain | rows, max_size=3),
    max_size=5,
)


@pytest.mark.slow
@given(tables)
@settings(max_examples=60, deadline=None)
def test_any_table_comes_back(table):
    assert tomllib.loads(toml.text(table)) == table


@pytest.mark.parametrize("path", sorted(SHIPPED.glob("*/*.toml")), ids=lambda path: path.stem)
def test_every_shipped_card_comes_back(path):
    assert {folder for _, folder in KINDS.values()}
    table = tomllib.loads(path.read_text("utf-8"))
    assert tomllib.loads(toml.text(table)) == table
