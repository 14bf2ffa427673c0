"""Text, TOML and tables from outside: in any encoding, and refused in a sentence with the place."""

import re
from pathlib import Path

import pytest

from sagger import texts
from sagger.cards.read import open_table
from sagger.errors import CardError, InputError, LotError, OrderError
from sagger.files import beside, coupons, lot, measured, order, readings, runs

LIBRARY = ("Traceback", "Error", "Exception", "codec", "recursion", "field larger", "at line", "expected")


def sentence(told):
    """What a person reads, once it was seen to hold no word of a library."""
    said = str(told.value)
    assert not [word for word in LIBRARY if word in said], said
    return said


@pytest.mark.parametrize("name", ["utf-8", "utf-8-sig", "utf-16", "utf-32"])
def test_text_is_read_in_each_encoding_that_says_so(tmp_path, name):
    (tmp_path / "a").write_bytes('größe = "µm"'.encode(name))
    assert texts.read(tmp_path / "a", InputError, "it") == 'größe = "µm"'


TOML = {
    "deep": ("a = " + "[" * 2000, "more than 50 tables or lists"),
    "deeper than the parser minds": ("a = " + "[" * 60 + "]" * 60, "more than 50 tables or lists"),
    "digits": ("a = " + "9" * 5000, "line 1: .* of too many digits"),
    "64 bit": ("a = 9223372036854775808", "a: .* of too many digits"),
    "latin-1": ('a = 1\nb = "gr\xf6"'.encode("latin-1"), "line 2: .* is not UTF-8 text"),
    "zero": (b"a = 1\n\0", "line 2: .* byte of value 0"),
    "words": ("a = 1\nb = two words", r"line 2, column 5: .* is not TOML .got 'b = two words'"),
    "cut": ("a = [", "its end: .* is not TOML|line 1, column 6: .* is not TOML"),
}
READ = {
    "order": (order.tables, OrderError),
    "lot": (lot.read, LotError),
    "card": (open_table, CardError),
}


@pytest.mark.parametrize("kind", READ)
@pytest.mark.parametrize("case", TOML)
def test_a_broken_toml_is_refused_with_its_place(tmp_path, case, kind):
    text, what = TOML[case]
    (tmp_path / "a.toml").write_bytes(text if isinstance(text, bytes) else text.encode())
    read, refuse = READ[kind]
    with pytest.raises(refuse, match=what) as told:
        read(tmp_path / "a.toml")
    assert sentence(told).startswith("a.toml, ")


TABLES = {
    "thermobalance, dilatometer": lambda path: measured.table(path, ("a",)),
    "coupons": coupons.coupons,
    "readings": lambda path: readings.read(path, {}),
    "runs": runs.read,
}


@pytest.mark.parametrize("kind", TABLES)
@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("a\n" + "x" * 140_000, "line 2: this is no row"),
        ('a\n"x\n' + "y\n" * 70_000, "line 2: this is no row"),
        (b"a\n\xff", "line 2: .*not UTF-8"),
    ],
    ids=["a long cell", "an open quote", "latin-1"],
)
def test_a_broken_table_is_refused_with_its_line(tmp_path, kind, text, what):
    heading = "coupon,kind,firing" if kind == "coupons" else "a"
    data = text if isinstance(text, bytes) else text.encode()
    (tmp_path / "a.csv").write_bytes(data.replace(b"a\n", f"{heading}\n".encode(), 1))
    with pytest.raises(InputError) as told:
        list(TABLES[kind](tmp_path / "a.csv"))
    sentence(told)
    assert "a.csv, line 2" in str(told.value) or "heading" in str(told.value)


@pytest.mark.parametrize(
    "name", ["/etc/passwd", "../secret.csv", "a/../../x", "x" * 300, "a\0b", "~/x/../../.."]
)
def test_a_file_names_only_what_lies_beside_it(tmp_path, name):
    with pytest.raises(LotError, match=r"no file can have this name|lies elsewhere") as told:
        beside.file(tmp_path / "lot.toml", name, "curve, file", LotError)
    sentence(told)


def test_cells_that_a_spreadsheet_would_run_are_text():
    names = ("part", "mm")
    rows = [
        {"part": start + "BOX<script>", "mm": -1.5} for start in ("=", "+", "-", "@", "\t=", " =", "\uff1d")
    ]
    lines = texts.table(names, [*rows, {"part": "lever", "mm": 2}]).splitlines()
    assert all(line.lstrip('"').startswith("'") and line.endswith(",-1.5") for line in lines[1:-1])
    assert lines[-1] == "lever,2"


def test_every_table_that_leaves_the_house_is_written_in_one_place():
    source = Path(texts.__file__).parent
    wrong = [
        path.name
        for path in source.rglob("*.py")
        if path.name != "texts.py" and re.search(r"csv\.(Dict)?[Ww]riter", path.read_text("utf-8"))
    ]
    assert wrong == []


def test_a_link_does_not_lead_out_either(tmp_path):
    (tmp_path / "in").mkdir()
    (tmp_path / "secret.csv").write_text("size_um,finer_percent\n1,2\n")
    (tmp_path / "in" / "curve.csv").symlink_to(tmp_path / "secret.csv")
    lot_file = tmp_path / "in" / "lot.toml"
    lot_file.write_text('powder = "p"\n[curve]\nmethod = "sieve"\nfile = "curve.csv"\n')
    with pytest.raises(LotError, match="lies elsewhere"):
        lot.read(lot_file)
