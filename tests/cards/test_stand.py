"""The card of a cell, and what is refused on one."""

import pytest

from sagger import cards
from sagger.cards.read import SHIPPED
from sagger.errors import CardError

TEXT = (SHIPPED / "stands" / "two-printers.toml").read_text(encoding="utf-8")
FIRST = TEXT.index("[[changes]]")
LONGER = TEXT[FIRST : TEXT.index("[[changes]]", FIRST + 1)]  # from one powder to another


def test_the_shipped_cell():
    stand = cards.load("stand", "two-printers")
    assert [printer.name for printer in stand.printers] == ["printer 1", "printer 2"]
    assert (stand.boxes[1].number.value, stand.crews[0].people.value) == (3, 2)
    assert stand.shifts[0].closes.value - stand.shifts[0].opens.value == 8 * 3600


@pytest.mark.parametrize(
    ("old", "new", "refusal"),
    [
        ('programmes = ["glycol metal", ', 'programmes = ["glycol steel", ', "none of that name"),
        ('days = ["Mon"', 'days = ["Monday"', "no day is called so"),
        ('value = "15 h"', 'value = "6 h"', "opens before it closes"),
        ('name = "printer 2"', 'name = "printer 1"', "share a name"),
        (LONGER, LONGER.replace('"4 h"', '"40 h"'), "takes longer than through"),
    ],
)
def test_what_does_not_fit_is_refused(tmp_path, old, new, refusal):
    assert old in TEXT
    (tmp_path / "stands").mkdir()
    (tmp_path / "stands" / "ours.toml").write_text(TEXT.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(CardError, match=refusal):
        cards.load("stand", "ours", [tmp_path])
