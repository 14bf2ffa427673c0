"""Tables of measured runs are read as their sources tell them."""

import pytest

from sagger.errors import InputError
from sagger.files import runs

HEAD = "key,what,card,green,peak_C,hold_min,measured,measured_u\n"


def table(tmp_path, text):
    path = tmp_path / "runs.csv"
    path.write_text(text, "utf-8")
    return path


def test_a_cell_holds_a_number_its_doubt_and_whether_it_was_assumed(tmp_path):
    rows = HEAD + "one,sintered density,steel-316l,0.58 ± 0.02,1360,60 (assumed),0.96,0.005\n"
    (run,) = runs.read(table(tmp_path, rows))
    green, hold = run.numbers["green"], run.numbers["hold_min"]
    assert (green.value, green.u, green.assumed) == (0.58, 0.02, False)
    assert (hold.value, hold.u, hold.assumed) == (60.0, 0.0, True)
    assert run.independent and not run.holdout


def test_conditions_may_stand_in_one_cell_as_json(tmp_path):
    cell = (
        '"{""card"": ""alumina"", ""green"": ""card 0.50"", ""peak_C"": ""1700 +- 100"", ""hold_min"": 480}"'
    )
    text = f"key,what,inputs,measured,measured_u,independent\none,sintered density,{cell},0.75,0.02,False\n"
    (run,) = runs.read(table(tmp_path, text))
    assert run.card == "alumina" and not run.independent
    assert (run.numbers["peak_C"].value, run.numbers["peak_C"].u) == (1700.0, 100.0)
    assert run.numbers["hold_min"].value == 480 and run.numbers["green"].value == 0.5


def test_words_in_place_of_a_number_leave_it_to_the_card(tmp_path):
    (run,) = runs.read(table(tmp_path, HEAD + "one,sintered density,alumina,card,,,0.9,0.01\n"))
    assert run.numbers == {}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("key,what\none,density\n", "columns are missing: measured, measured_u"),
        (HEAD, "no rows"),
        (HEAD + "one,sintered density,alumina,,,,about 0.9,0.01\n", "row 2: this must be a number"),
        ("key,what,inputs,measured,measured_u\none,x,{,1,0\n", "no JSON object"),
    ],
)
def test_a_table_that_is_none_is_refused_by_row_and_column(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        runs.read(table(tmp_path, text))
