"""Readings in the ledger become proposals and judgements at the desk."""

import numpy as np
import pytest

from sagger.desk.home import ledger
from sagger.desk.measuring import judging, learning
from sagger.errors import InputError
from sagger.goods.booked import BookedBox, BookedPiece, FiredPiece, FurnaceRun, PrintedFrom
from sagger.goods.reading import Reading
from sagger.ledger import boxes, learned, readings

K = (1.19, 1.19, 1.22)
TRUE = np.array([0.84, 0.838, 0.815])


@pytest.fixture(autouse=True)
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)


def booked(box, facts, seed, longer=0.0):
    """A box of nine coupons of three sizes, fired and measured."""
    random, book = np.random.default_rng(seed), ledger()
    places = [(x, y, 20.0) for x in (25.0, 200.0, 375.0) for y in (25.0, 125.0, 225.0)]
    pieces = tuple(
        BookedPiece(label=f"steps 1-{n:02d}", part=f"steps 1-{n:02d}", coupon=True, at_mm=at)
        for n, at in enumerate(places, 1)
    )
    boxes.book(
        book, BookedBox(name=box, powder="steel-316l", pieces=pieces, facts=PrintedFrom(**facts)), "A. Person"
    )
    stood = tuple(
        FiredPiece(box=box, piece=each.label, place=f"place {n % 4}") for n, each in enumerate(pieces)
    )
    boxes.fire(book, FurnaceRun(name=f"run {box}", furnace="metal-batch", pieces=stood), "A. Person")
    found = [
        Reading(
            kind="length", state="sintered", axis="xyz"[axis], nominal=size * 1e-3, u=5e-6, box=box, lot=box,
            piece=each.label, feature=f"step {size:g}",
            value=size * 1e-3 * K[axis] * TRUE[axis] * (1 + longer + random.normal(0, 3e-4)),
        )
        for each in pieces
        for axis in range(3)
        for size in (12.0, 20.0, 28.0)
    ]  # fmt: skip
    readings.add(book, found, "A. Person")


@pytest.mark.slow
def test_a_proposal_is_made_shown_and_approved():
    for number in (1, 2):
        booked(f"B{number}", {"k": K}, number)
    document, lines = learning.propose("steel-316l", "box-400x250x250", (), "A. Person")
    assert any("nothing is in force yet" in line for line in lines)
    assert "from now on" in learning.approve(document.entry, "B. Person", "18 coupons")
    np.testing.assert_allclose(document.k, 1 / TRUE, rtol=1e-3)
    even, _ = learning.bed("steel-316l", "box-400x250x250", None)
    assert even.most < 2e-3


@pytest.mark.slow
def test_a_lot_gets_factors_of_its_own_and_the_others_keep_theirs():
    for number, longer in ((1, 0.0), (2, 3e-3), (3, 1e-3), (4, -1e-3)):
        booked(f"B{number}", {"k": K}, number, longer)
    whole, _ = learning.propose("steel-316l", "", (), "A. Person")
    learning.approve(whole.entry, "B. Person", "four lots")
    mine, _ = learning.propose("steel-316l", "", (), "A. Person", lot="B2")
    assert len(mine.readings) == 81
    assert mine.axes[0].before_u >= whole.axes[0].u
    learning.approve(mine.entry, "B. Person", "coupons of B2")
    assert learned.in_force(ledger(), "steel-316l", "").scatter.lots == 4
    other, own = (learned.in_force(ledger(), "steel-316l", "", lot).factors for lot in ("B1", "B2"))
    assert (other.lot, own.lot) == ("", "B2")
    np.testing.assert_allclose(own.k, 1 / TRUE / 1.003, rtol=7e-4)


@pytest.mark.slow
def test_a_box_of_unknown_oversize_is_named():
    booked("B1", {}, 1)
    with pytest.raises(InputError, match="'B1' was printed"):
        learning.propose("steel-316l", "", (), "A. Person")


@pytest.mark.slow
def test_bleed_that_was_drawn_is_taken_off():
    booked("B1", {"k": K, "less_mm": (0.06, 0.06, 0.1)}, 1)
    found = readings.listed(ledger(), piece="steps 1-01")
    drawn = learning.drawn_mm(ledger(), found)
    wanted = [
        each.nominal * 1e3 * K["xyz".index(each.axis)] - (0.1 if each.axis == "z" else 0.06) for each in found
    ]
    np.testing.assert_allclose(drawn, wanted, rtol=1e-12)


@pytest.mark.slow
def test_lengths_are_judged_with_a_chart_each(tmp_path):
    booked("B1", {"k": K}, 1)
    document, lines = judging.lengths("0.3 mm", "steps", tmp_path / "charts", box="B1", powder="")
    assert len(document["compared"]) == 81
    assert len(list((tmp_path / "charts").glob("*.svg"))) == 9
    assert lines[0].startswith("81 lengths:")


@pytest.mark.slow
def test_every_size_is_known_with_its_readings_and_judged_alone():
    booked("B1", {"k": K}, 1)
    known = judging.sizes(box="B1")
    assert len(known) == 9 and {count for _, count in known} == {9}
    (size,) = (each for each, _ in known if (each.axis, each.feature) == ("x", "step 12"))
    judged = judging.one(size, "0.3 mm", box="B1")
    (found,) = judged.characteristics
    assert (found.size.part, found.size.axis, found.size.nominal_mm, len(judged.compared)) == (
        "steps",
        "x",
        12.0,
        9,
    )
    assert judging.sizes(box="B2") == []


@pytest.mark.slow
def test_a_density_is_charted_in_its_own_unit_without_a_tolerance():
    found = [
        Reading(
            kind="density", state="green", value=4300.0 + off, u=2.0, box="B1", piece=f"cup {n}", part="cup"
        )
        for n, off in enumerate((0.0, 12.0, -8.0, 4.0))
    ]
    readings.add(ledger(), found, "A. Person")
    ((size, count),) = judging.sizes()
    seen = judging.charted(size)
    assert (count, seen.unit, seen.off_nominal) == (4, "g/cm3", False)
    np.testing.assert_allclose(seen.values, [4.3, 4.312, 4.292, 4.304], rtol=1e-12)
    with pytest.raises(InputError, match="0 readings; a chart needs 3"):
        judging.charted(size, box="B2")


@pytest.mark.slow
def test_nothing_to_judge_is_said():
    with pytest.raises(InputError, match="no finished lengths"):
        judging.lengths("0.3 mm", "", None, box="", powder="")


@pytest.mark.slow
def test_a_bed_without_a_map_is_said():
    with pytest.raises(InputError, match="no map"):
        learning.bed("steel-316l", "box-400x250x250", None)
