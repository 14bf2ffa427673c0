"""Powder on the shelf, lots and readings."""

from page_text import facts, links, table, words
from sagger.views.words.lots import LotDocument
from sagger.views.words.noticed import FindingLine
from sagger.web.rows import readings as rows

LOT = LotDocument(
    name="L1", powder="steel", origin="received", sources=(), entry=1, mass_kg=12.3456, made_kg=20.0,
    builds_behind=[1.0], mean_builds_behind=0.0, size=None, flow=None, figures={}, measured=(),
    findings=(
        FindingLine("ok", "flow", "fair", ""),
        FindingLine("look", "oxygen", "0.1 % <more>", ""),
        FindingLine("stop", "size", "too fine", ""),
    ),
)  # fmt: skip


def test_a_lot_tells_what_is_left_of_it_and_what_to_look_at():
    content = rows.shelf([LOT])
    assert table(content)[1] == [
        "L1", "steel", "received", "12.346", "look oxygen: 0.1 % <more> stop size: too fine",
    ]  # fmt: skip
    assert links(content) == {"L1": "/lots/L1"}
    assert "<more>" not in str(content)
    assert words(rows.shelf([])) == "No powder is booked in yet."


def test_a_lot_is_told_as_facts_with_its_size_curve():
    lines = ["L1: steel, received", "  on the shelf 3 kg", "  d50: 16 um"]
    content = rows.lot("L1", lines, "<svg></svg>")
    assert facts(content) == {"L1": "steel, received", "on the shelf 3 kg": "", "d50": "16 µm"}
    assert '<div class="picture" role="img" aria-label="size curve of L1"><svg></svg>' in str(content)
    assert "picture" not in str(rows.lot("L1", lines, ""))


def test_the_newest_readings_come_first_and_older_ones_are_counted():
    lines = [f"reading {number}" for number in range(1, rows.SHOWN + 4)]
    said = words(rows.readings(lines))
    assert said.startswith(f"reading {rows.SHOWN + 3} reading {rows.SHOWN + 2} ")
    assert said.endswith("reading 4 3 older ones: sagger readings lists all.")
    assert words(rows.readings(["reading 1"])) == "reading 1"
    assert words(rows.readings([])) == "No readings yet."


def test_instruments_and_what_was_taken_are_lists():
    assert words(rows.instruments(["calliper  length"])) == "calliper length"
    assert words(rows.instruments([])) == "No instruments are entered yet."
    assert str(rows.taken(["entry 1: 2 readings", "  not taken: <x>"])).count("<li>") == 2


def test_a_size_table_waits_for_the_lot_file_that_names_it():
    assert rows.waits_for_its_lot("curve.csv") and not rows.waits_for_its_lot("lot.toml")
