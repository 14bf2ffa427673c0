"""What of a file of several bodies becomes part of an order."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import sagger
from sagger.desk import uploads
from sagger.desk.planning import drafts
from sagger.desk.planning.orders import BareOrder, read, wish
from sagger.errors import OrderError, PartFileError
from sagger.web.rows import new_order, order_fields

pytestmark = pytest.mark.slow

made = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "step_files.py")))
PARTS = Path(__file__).parents[2].parent / "shared" / "parts"
ORDER = """
[order]
name = "t"
[cards]
powder = "steel-316l"
[[part]]
file = "box.step"
quantity = 3
tolerance = "0.2 mm"
"""


@pytest.fixture
def folder(tmp_path):
    named = [("base", (30, 20, 2), [(0, 0, 0)]), ("side", (2, 20, 10), [(0, 0, 2), (28, 0, 2)])]
    (tmp_path / "box.step").write_text(made.assembly(named))
    return tmp_path


def asked(folder, more=""):
    (folder / "order.toml").write_text(ORDER + more)
    return [(r.name, r.body, r.quantity) for r in read(folder / "order.toml", BareOrder()).order.requests]


def test_an_order_says_which_body_or_all_of_an_assembly(folder):
    assert asked(folder, 'body = "side"') == [("box", "side", 3)]
    assert asked(folder, 'body = "all"') == [("box base", "base", 3), ("box side", "side", 6)]
    with pytest.raises(PartFileError, match=r"holds 2 bodies: base, side \(2 times\)") as refused:
        asked(folder)
    assert 'body = "base"' in refused.value.remedy
    with pytest.raises(PartFileError, match="no such body"):
        asked(folder, 'body = "lid"')


def test_a_bare_file_gives_all_its_bodies_each_by_itself(folder):
    looked = sagger.check(folder / "box.step")
    np.testing.assert_allclose(
        [part.extent_mm for part in looked.parts], [(30, 20, 2), (2, 20, 10)], rtol=1e-5
    )
    assert any(" × 2: " in line for line in looked.lines)
    (chosen,) = read(folder / "box.step", wish(body="side")).files
    assert chosen.copies == 2


def ten():
    """An assembly of ten bodies of different width, placed once, twice or three times."""
    each = [(f"body {n}", (5 + n, 4, 3), [(20 * n, 0, 30 * m) for m in range(1 + n % 3)]) for n in range(10)]
    return made.assembly(each)


def test_ten_bodies_are_ten_parts_with_their_copies_on_the_command_line(tmp_path):
    (tmp_path / "ten.step").write_text(ten())
    looked = sagger.check(tmp_path / "ten.step")
    named = [(part.request.body, part.request.quantity) for part in looked.parts]
    assert named == [(f"body {n}", 1 + n % 3) for n in range(10)]
    assert sum(f"ten body {n}" in line for n in range(10) for line in looked.lines) >= 10
    assert not any("joined" in line for line in looked.lines)


def test_ten_bodies_are_offered_as_ten_parts_on_the_page(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    draft = uploads.begin()
    uploads.place(draft, "ten.step").write_text(ten())
    for _ in range(2):  # the second time from its note
        parts = new_order.form_parts(drafts.uploaded(draft), {})
        assert [(part.key.body, part.copies) for part in parts] == [
            (f"body {n}", 1 + n % 3) for n in range(10)
        ]
    firsts = [new_order.first_part(part, {}) for part in parts]
    assert [first["quantity"] for first in firsts] == [1 + n % 3 for n in range(10)]
    keys = [part.key for part in parts]
    entries = {"[order], name": "t", "[cards], powder": "steel-316l"}
    for number, first in enumerate(firsts, 1):
        entries |= {f"[[part]] {number}, {key}": value for key, value in first.items()}
    entries["[[part]] 4, quantity"] = 0
    tables = order_fields.without_left_out(order_fields.tables(entries, keys, {}))
    assert drafts.save(draft, tables, "A") == 1
    asked_for = drafts.tables(1)["part"]
    assert [row["body"] for row in asked_for] == [f"body {n}" for n in range(10) if n != 3]


def test_a_chord_out_of_range_is_refused(folder):
    with pytest.raises(OrderError, match=r"from 0\.001 mm to 1 mm"):
        asked(folder, 'body = "side"\nchord = "5 mm"')


@pytest.mark.parametrize(
    ("name", "counts"),
    [("nist_ctc_01_asme1_ap242-e1.stp", (8, 6, 3)), ("nist_ftc_07_asme1_ap242-e2.stp", (17, 27, 5))],
)
def test_checking_a_file_lists_what_it_asks_for(name, counts):
    """Counts as in the public list of annotations of the NIST test cases (usnistgov/CAD-PMI-Testing)."""
    if not (PARTS / name).exists():
        pytest.skip("part files beside the project")
    (document,) = sagger.check(PARTS / name).documents
    drawing = document["drawing"]
    assert tuple(len(drawing[key]) for key in ("dimensions", "tolerances", "datums")) == counts
    assert all(row["faces"] for key in ("dimensions", "datums") for row in drawing[key])
    assert all(row["faces"] or row["whole"] for row in drawing["tolerances"])
