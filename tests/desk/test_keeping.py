"""The ledger taken out, copied and brought back; what cannot be written is said, and nothing stays."""

import csv

import pytest

from sagger.desk import keeping
from sagger.desk.home import ledger
from sagger.errors import LedgerError
from sagger.goods.lot import Lot
from sagger.ledger import lots

ME = lots.Mover(person="A. Person")


@pytest.fixture(autouse=True)
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    lots.receive(ledger(), Lot(name="L", powder="m", origin="received"), 100.0, ME)
    return tmp_path


def test_all_of_it_is_taken_out_in_open_tables(shop):
    keeping.export(shop / "out")
    with (shop / "out" / "tables" / "posting.csv").open(newline="") as table:
        assert {(row["place"], row["mg"]) for row in csv.DictReader(table)} == {
            ("lot", "100000000"),
            ("outside", "-100000000"),
        }


def test_a_place_that_cannot_be_written_is_said(shop):
    (shop / "file").write_bytes(b"")
    for take, name in ((keeping.export, "out"), (keeping.backup, "copy.zip")):
        with pytest.raises(LedgerError, match=r"cannot be written: .* The ledger is as it was"):
            take(shop / "file" / name)
    assert sorted(path.name for path in shop.iterdir()) == ["file", "home"]


def test_what_a_killed_copy_left_aside_goes_with_the_next_one(shop):
    (shop / ".copy.zip.999999999.part").write_bytes(b"half")
    keeping.backup(shop / "copy.zip")
    assert sorted(path.name for path in shop.iterdir()) == ["copy.zip", "home"]


def test_a_copy_comes_back_into_another_home(shop, monkeypatch):
    keeping.backup(shop / "copy.zip")
    monkeypatch.setenv("SAGGER_HOME", str(shop / "other"))
    keeping.restore(shop / "copy.zip")
    assert lots.account(ledger()).received == 100.0
