"""What of a file of several bodies becomes part of an order."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import sagger
from sagger.desk.planning.orders import BareOrder, read, wish
from sagger.errors import OrderError, PartFileError

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
