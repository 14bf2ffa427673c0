"""Factors in force and over time, and those typed to be approved; proposals from readings."""

import numpy as np
import pytest

from page_text import table, words
from records import factors_approval
from sagger.errors import InputError
from sagger.goods.learned import AxisLearned, Scatter
from sagger.views.words.learned import ProposalDocument
from sagger.web.rows import factors, proposals

K, U = (1.19, 1.18, 1.21), (0.001, 0.002, 0.003)
# Newest first, as the ledger lists them.
APPROVALS = [
    factors_approval(4, "steel", K, U, lot="L1"),
    factors_approval(3, "steel", K, U),
    factors_approval(2, "steel", (1.2, 1.2, 1.2), U, lot="L1"),
    factors_approval(1, "steel", (1.2, 1.2, 1.2), U),
]
SCATTER = Scatter(
    material="steel", lot=0.001, bed=0.002, furnace=0.003, part=0.004, gauge_mm=0.012,
    readings=3, lots=1, beds=1, furnaces=1, origin="readings",
)  # fmt: skip


def learned(axis, verdict):
    return AxisLearned(
        axis=axis, readings=3, pieces=12, found=1.1882, found_u=0.0021, freedom=9.0,
        offset_mm=0.0, offset_u_mm=0.0, offset_p=1.0, origin_k=1.1882, origin_u=0.0021,
        before=1.19, before_u=0.004, conflict=0.4, weight=0.8, inflation=1.2,
        k=1.1885, u=0.0019, verdict=verdict,
    )  # fmt: skip


def proposed(*verdicts):
    return ProposalDocument(
        entry=9, material="steel", box="", k=np.array(K), u=np.array(U),
        axes=tuple(map(learned, "xz", verdicts)), scatter=SCATTER, one_factor_mm=0.1, by_place_mm=0.1,
        length_mm=50.0, notes=("few pieces",), readings=(1, 2, 3),
    )  # fmt: skip


def test_factors_stand_under_their_own_axis():
    head, *body = table(factors.approved(APPROVALS))
    newest = dict(zip(head, body[0], strict=True))
    assert (newest["x"], newest["y"], newest["z"]) == (
        "1.1900 ± 0.0010", "1.1800 ± 0.0020", "1.2100 ± 0.0030",
    )  # fmt: skip
    assert (newest["Entry"], newest["Powder"]) == ("4", "steel, lot L1")
    assert (newest["Approved by"], newest["On, UTC"], newest["From"]) == (
        "Ann",
        "2027-01-02 03:04",
        "coupons",
    )


def test_the_newest_of_each_powder_and_lot_holds():
    column = [row[5] for row in table(factors.approved(APPROVALS))[1:]]
    assert column == ["in force", "in force", "replaced", "replaced"]


def test_what_was_withdrawn_holds_no_longer_and_the_one_before_does_again():
    why = "Bob, 2027-02-03T04:05: a mistyped length"
    rows = [factors_approval(5, "steel", K, U, withdrawn=why), *APPROVALS]
    column = [row[5] for row in table(factors.approved(rows))[1:]]
    assert column == [f"withdrawn by {why}", "in force", "in force", "replaced", "replaced"]
    assert factors.held(rows) == {
        4: "entry 4, steel, lot L1",
        3: "entry 3, steel",
        2: "entry 2, steel, lot L1",
        1: "entry 1, steel",
    }
    assert str(factors.over_time(rows)) == str(factors.over_time(APPROVALS))


def test_factors_over_time_are_charted_along_each_axis_of_each_lot():
    content = str(factors.over_time(APPROVALS))
    for axis in "xyz":
        assert content.count(f"factor along {axis} over time") == 2
    assert "Factors over time, steel, lot L1" in words(content)
    assert "x: 1.2000 ± 0.0010 (entry 1), now 1.1900 ± 0.0010 (entry 3): −0.0100" in words(content)
    assert str(factors.over_time(APPROVALS[-2:])) == ""
    assert words(factors.approved([])) == "None is approved yet."


def test_what_is_typed_becomes_factors_and_uncertainties_axis_by_axis():
    typed = {"k_x": "1.19", "k_y": "1,18", "k_z": "1.21", "u_x": "0.001", "u_y": "0.002", "u_z": "0.003"}
    assert set(typed) == set(factors.LABELS)
    assert factors.typed(typed) == (K, U)
    with pytest.raises(InputError) as refused:
        factors.typed(typed | {"u_y": ""})
    assert refused.value.field == "its standard uncertainty along y"


def test_a_proposal_tells_what_holds_what_was_found_and_what_is_proposed():
    content = proposals.proposal(proposed("change", "keep"))
    head, first, second = table(content, "Proposal 9")
    told = dict(zip(head, first, strict=True))
    assert told == {
        "Axis": "x", "in force": "1.19000 ± 0.00400", "found": "1.18820 ± 0.00210", "pieces": "12",
        "proposed": "1.18850 ± 0.00190", "verdict": "change",
    }  # fmt: skip
    assert second[-1].startswith("keep")
    said = words(content)
    assert said.startswith("Proposal 9: steel, from 3 readings")
    assert "lot 0.100 %, place in the bed 0.200 %, place in the furnace 0.300 %, part to part 0.400 %" in said
    assert "gauge 0.012 mm" in said and "few pieces" in said


def test_a_proposal_that_contradicts_what_is_in_force_is_not_approved_by_a_click():
    assert not proposals.blocked(proposed("change", "keep"))
    assert proposals.blocked(proposed("change", "blocked"))


def test_who_asks_for_a_proposal_says_so_and_from_which_boxes():
    assert proposals.boxes(" B1, B2 ,") == ("B1", "B2")
    assert proposals.asked_by("Ann") == "Ann"
    with pytest.raises(InputError):
        proposals.asked_by(" ")
