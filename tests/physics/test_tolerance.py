"""The formula of ISO 286-1 against its own table, and sizes outside it."""

import pytest

from sagger import cards
from sagger.errors import LawError
from sagger.statistics import tolerance

MULTIPLES = {  # ISO 286-1, of the tolerance unit; from memory
    "IT5": 7, "IT6": 10, "IT7": 16, "IT8": 25, "IT9": 40, "IT10": 64, "IT11": 100, "IT12": 160, "IT13": 250,
    "IT14": 400,
}  # fmt: skip


@pytest.mark.parametrize("row", cards.iso286(), ids=lambda row: f"{row.up_to_mm:g}")
def test_iso_286_table_lies_near_its_formula(row):
    """Within 14 % everywhere, within 3 % above 18 mm: the table is rounded, so it is looked up."""
    mean = ((row.over_mm or 1.0) * row.up_to_mm) ** 0.5
    unit = 0.45 * mean ** (1 / 3) + 0.001 * mean  # ISO 286-1, the tolerance unit i [um]
    allowed = 0.03 if row.over_mm >= 18 else 0.14
    for grade, multiple in MULTIPLES.items():
        assert abs(unit * multiple / (row.width_mm[grade] * 1e3) - 1) < allowed, grade


def test_sizes_off_the_table_are_refused():
    with pytest.raises(LawError, match="no step"):
        tolerance.it_grade(0.1, 800.0, cards.iso286())
