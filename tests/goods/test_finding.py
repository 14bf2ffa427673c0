"""How much hangs on a finding, and the order that follows."""

from sagger.goods.finding import LEVELS, Against, about, advice, heaviest_first, loss, ok, risk, stop


def test_heaviest_come_first_and_of_one_weight_in_their_order():
    found = [made(word, "") for made in (ok, advice, risk, loss, stop) for word in "ab"]
    told = [(finding.level, finding.what) for finding in heaviest_first(found)]
    assert told == [
        ("stop", "a"),
        ("stop", "b"),
        *[("look", word) for word in "ababab"],
        ("ok", "a"),
        ("ok", "b"),
    ]
    assert [finding.weight for finding in heaviest_first(found)] == [4, 4, 3, 3, 2, 2, 1, 1, 0, 0]
    assert {finding.level for finding in found} == set(LEVELS)


def test_what_holds_is_well_and_needs_no_remedy():
    over = risk(
        "wall", "0.8 mm", Against(0.8, 1.0, "mm", "card"), "Thicken it.", at_mm=(1, 2, 3), unless=False
    )
    fine = risk(
        "wall", "0.8 mm", Against(0.8, 0.7, "mm", "card"), "Thicken it.", at_mm=(1, 2, 3), unless=True
    )
    assert (over.level, over.remedy, over.weight) == ("look", "Thicken it.", 2)
    assert (fine.level, fine.remedy, fine.weight) == ("ok", "", 0)
    assert (fine.value, fine.limit, fine.unit, fine.source, fine.at_mm) == (0.8, 0.7, "mm", "card", (1, 2, 3))


def test_a_finding_of_one_of_several_parts_names_it():
    assert about(3, stop("tray", "")).part == 3 and stop("tray", "").part is None
