"""A printed box is booked with the places of its pieces, and a piece is traced from there."""

import csv
import io
import json
from pathlib import Path

import pytest
import trimesh
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.errors import SaggerError

EXAMPLE = Path(__file__).parents[2] / "examples" / "lot-316l.toml"
ORDER = """[order]
name = "blocks"
start = "2030-01-07T08:00"
[cards]
powder = "steel-316l"
lot = "L-0417"
[choices]
layer = "0.2 mm"
[[part]]
file = "block.stl"
unit = "mm"
quantity = 2
tolerance = "1 %"
[[coupon]]
kind = "bar"
places = [[0.5, 0.5]]
"""


def _say(*words):
    outcome = CliRunner().invoke(sagger, words)
    if isinstance(outcome.exception, SaggerError):
        raise outcome.exception
    return outcome.stdout


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(folder / "home"))
        patch.setenv("SAGGER_PERSON", "A. Person")
        trimesh.creation.box((12, 8, 4)).export(folder / "block.stl")
        (folder / "order.toml").write_text(ORDER)
        _say("lots", "receive", str(EXAMPLE), "--mass", "60 kg")
        _say("plan", str(folder / "order.toml"), "--into", str(folder / "out"))
        _say("lots", "charge", "B1", "--of", "L-0417=30 kg")
        _say("book", "box", "B1", "--job", "1")
        yield folder


@pytest.mark.slow
def test_a_booked_box_holds_pieces_and_coupons_at_their_places(shop):
    pieces = {piece["label"]: piece for piece in json.loads(_say("trace", "box", "B1", "--json"))["pieces"]}
    plan = json.loads((shop / "out" / "plan.json").read_text())
    assert {label for label, piece in pieces.items() if not piece["coupon"]} == {"block 1", "block 2"}
    (coupon,) = (piece for piece in pieces.values() if piece["coupon"])
    assert coupon["label"].startswith("bar 1-")
    size = plan["boxes"][0]["size_mm"]
    assert abs(coupon["x_mm"] - size[0] / 2) < 2 and abs(coupon["y_mm"] - size[1] / 2) < 2


@pytest.mark.slow
def test_a_piece_is_traced_to_powder_factors_furnace_and_editions(shop):
    (shop / "run.csv").write_text("box,piece,tray,place,x_mm,y_mm,z_mm\nB1,block 1,1,front,1,2,3\n")
    _say("book", "run", "F1", str(shop / "run.csv"), "--furnace", "metal-batch")
    found = json.loads(_say("trace", "piece", "B1", "block 1", "--json"))
    assert [step["name"] for step in found["powder"]] == ["B1", "L-0417"]
    assert found["box"]["facts"]["factors"]["lot"] == "L-0417"
    assert (found["furnace"][0]["name"], found["furnace"][0]["z_mm"]) == ("F1", 3.0)
    assert any(work["verb"].endswith("shrink.compensate") and work["edition"] for work in found["works"])
    rows = list(csv.DictReader(io.StringIO(_say("trace", "piece", "B1", "block 1", "--csv"))))
    assert {"piece", "box", "powder card", "factors", "lot", "furnace run", "work"} <= {
        row["step"] for row in rows
    }
    assert "furnace run F1" in _say("trace", "lot", "L-0417")


@pytest.mark.slow
def test_what_was_not_planned_or_is_not_there_is_not_booked(shop):
    (shop / "bad.csv").write_text("box,piece,x_mm,y_mm,z_mm\nB1,block 1,1,b,3\n")
    for words, message in {
        ("box", "B1", "--job", "1"): "there is a box of that name",
        ("box", "B2", "--job", "1", "--number", "7"): "has 1 boxes",
        ("box", "B2", "--job", "99"): "no job 99",
        ("run", "F2", str(shop / "bad.csv")): "line 2, column y_mm",
    }.items():
        with pytest.raises(SaggerError, match=message):
            _say("book", *words)


@pytest.mark.slow
def test_the_scan_of_a_booked_piece_gives_its_sizes_along_machine_axes(shop):
    _say("readings", "instrument", "scanner", "--u", "0.01 mm", "--u-shared-relative", "0.02 %")
    fine = trimesh.creation.box((12, 8, 4)).subdivide_to_size(0.7)
    fine.vertices *= [1.01, 0.99, 1.02]
    fine.apply_transform(trimesh.transformations.rotation_matrix(1.0, [1, 2, 3]))
    fine.export(shop / "scan.stl")
    words = ("readings", "scan", str(shop / "scan.stl"), "B1", "block 1", "--instrument", "scanner", "--json")
    found = json.loads(_say(*words))
    lengths = json.loads(_say("readings", "--piece", "block 1", "--kind", "length", "--json"))["readings"]
    by_axis = {each["axis"]: each for each in lengths if each["feature"] == "scan"}
    plan = json.loads((shop / "out" / "plan.json").read_text())
    (placement,) = (
        each["placement"] for each in plan["pieces"] if (each["name"], each["number"]) == ("block", 1)
    )
    size = {0: (12, 1.01), 1: (8, 0.99), 2: (4, 1.02)}
    for axis, row in zip("xyz", placement, strict=False):
        nominal, scale = size[max(range(3), key=lambda column: abs(row[column]))]
        assert by_axis[axis]["nominal"] == pytest.approx(nominal * 1e-3, abs=1e-9)
        assert by_axis[axis]["value"] == pytest.approx(nominal * scale * 1e-3, abs=4e-6)
    assert found["points"] == 6000 and len(found["field"]) == 32
    with pytest.raises(SaggerError, match="this file was loaded before, as entry"):
        _say(*words)
    with pytest.raises(SaggerError, match="no such scanner"):
        _say("readings", "scan", str(shop / "scan.stl"), "B1", "block 1", "--instrument", "eye")
