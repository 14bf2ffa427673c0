"""From a drawn order to its certificate: planned, printed, measured by dimension, judged, learnt from."""

import csv
import json

import manifold3d
import numpy as np
import pytest
import trimesh
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.desk.home import ledger
from sagger.desk.measuring import levering
from sagger.errors import SaggerError
from sagger.ledger import printed, proof

pytestmark = pytest.mark.slow
SOLID = manifold3d.Manifold
RATIO, BLEED = np.array([0.8335, 0.8342, 0.8120]), 0.031  # of the invented shop, and what binder creeps [mm]
LOT, PIECE, FACE, GAUGE = 6e-4, 3e-4, 0.003, 0.002  # relative, and in mm
ORDER = """[order]
name = "housings"
customer = "Harrow Valves (invented)"
start = "2030-01-07T08:00"
[cards]
powder = "steel-316l"
[choices]
layer = "0.2 mm"
bleed = "20 um"
[[part]]
name = "housing"
file = "block.stl"
unit = "mm"
quantity = 3
tolerance = "1 %"
orientations = "fixed"
[[part.datum]]
name = "A"
face = "plane at 5, 5, 0 facing -z"
"""
LINES = (
    ("diameter", "bore 8 mm at 10, 20, 5 along z", "±0.1 mm", "", "main bore"),
    ("diameter", "pin 10 mm at 30, 22, 14 along z", "±0.1 mm", "", "seat"),
    ("distance", "plane at 0, 5, 5 facing -x", "±0.2 mm", "plane at 40, 5, 5 facing x", "length"),
    ("distance", "plane at 5, 0, 5 facing -y", "±0.2 mm", "plane at 5, 30, 5 facing y", "width"),
    ("distance", "plane at 5, 5, 12 facing z", "±0.1 mm", "plane at 30, 22, 16 facing z", "step"),
    ("thickness", "plane at 5, 5, 12 facing z", "±0.1 mm", "plane at 5, 5, 0 facing -z", "height"),
    ("flatness", "plane at 5, 5, 12 facing z", "0.1 mm", "", ""),
    ("position", "bore 8 mm at 10, 20, 5 along z", "0.3 mm", "A", ""),
)


def say(*words, code=0):
    outcome = CliRunner().invoke(sagger, [*map(str, words)])
    if isinstance(outcome.exception, SaggerError):
        raise outcome.exception
    assert outcome.exit_code == code, outcome.output
    return outcome.stdout


def body(grown=(1.0, 1.0, 1.0), smaller=0.0):
    made = SOLID.cube((40, 30, 12)) - SOLID.cylinder(20, 4 - smaller, 4 - smaller, 96).translate((10, 20, -4))
    made += SOLID.cylinder(5, 5, 5, 96).translate((30, 22, 11))
    return made.scale(grown)


def exported(made, path):
    out = made.to_mesh()
    trimesh.Trimesh(np.asarray(out.vert_properties[:, :3]), np.asarray(out.tri_verts)).export(path)


def read(box, seed):
    """Rows of a table: every feature of each piece, by the number of its line."""
    rng, pieces, known = np.random.default_rng(seed), levering.drawn_pieces(ledger()), printed.drawn(ledger())
    lot, rows = rng.normal(0, LOT), []
    for label in ("housing 1", "housing 2", "housing 3"):
        piece, own = pieces(box, label), known[box, label]
        grown = RATIO * own.k * (1 + lot + rng.normal(0, PIECE))
        for number, one in piece.features.items():
            points, normals = one.points @ piece.turned.T, one.normals @ piece.turned.T
            flat = np.hypot(normals[:, 0], normals[:, 1])
            aside = normals * (1, 1, 0) / np.maximum(flat, 1e-9)[:, None]
            out = points * (grown - 1) + (BLEED - own.less_mm[0] / 2) * RATIO * aside
            out = (out * normals).sum(axis=1) + rng.normal(0, FACE, 999)[one.faces]
            value = abs(_value(one, one.weights @ out) + rng.normal(0, GAUGE))
            rows.append([box, label, str(number), f"{value:.5f}", one.unit, "probe"])
    return rows


def _value(one, moved):
    if one.rule == "each":
        return one.nominal + moved.mean()
    return np.ptp(moved) if one.rule == "range" else 2 * np.hypot(moved[::2], moved[1::2]).max()


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("measured")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(folder / "home"))
        patch.setenv("SAGGER_PERSON", "A. Person")
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        exported(body(), folder / "block.stl")
        lines = [
            f'[[part.dimension]]\nwhat = "{what}"\nof = "{of}"\nlimit = "{limit}"\n'
            + (f'to = ["{to}"]\n' if to else "")
            + (f'name = "{name}"\n' if name else "")
            + ('zone = "round"\n' if what == "position" else "")
            for what, of, limit, to, name in LINES
        ]
        (folder / "order.toml").write_text(ORDER + "".join(lines))
        say("plan", folder / "order.toml", "--into", folder / "out")
        say("readings", "instrument", "probe", "--u", "2 um")
        for number, box in enumerate(("B1", "B2", "B3", "B4")):
            say("book", "box", box, "--job", "1", "--again")
            with (folder / f"{box}.csv").open("w", newline="") as file:
                head = ["box", "piece", "dimension", "value", "unit", "instrument"]
                csv.writer(file).writerows([head, *read(box, number)])
            say("readings", "load", folder / f"{box}.csv")
        yield folder


def test_numbers_are_the_same_on_the_traveller_in_the_plan_and_in_readings(shop):
    plan = json.loads((shop / "out" / "plan.json").read_text())
    drawing = plan["parts"][0]["drawing"]
    names = [line["name"] or line["kind"] for line in (*drawing["dimensions"], *drawing["tolerances"])]
    told = json.loads(say("readings", "--kind", "dimension", "--box", "B1", "--piece", "housing 1", "--json"))
    features = [each["feature"] for each in told["readings"]]
    assert features == [f"{n} {kind}" for n, kind in enumerate(
        ["diameter main bore", "diameter seat", "distance length", "distance width", "distance step",
         "thickness height", "flatness", "position"], start=1)]  # fmt: skip
    assert names == ["main bore", "seat", "length", "width", "step", "height", "flatness", "position"]
    page = (shop / "out" / "traveller.html").read_text()
    for number, name in enumerate(names[:6], start=1):
        assert f"<b>{number}</b></td><td>{name}, " in page
    assert [line["line"] for line in plan["promise"]["lines"]] == [*range(1, 9)]


def test_check_leaves_pictures_with_the_same_numbers(shop):
    said = say("check", shop / "order.toml", "--into", shop / "looked")
    pictures = sorted((shop / "looked").iterdir())
    assert [path.name for path in pictures] == [f"A-{n}.png" for n in range(1, len(pictures) + 1)] != []
    for path in pictures:
        assert f"numbers on the part: {path}" in said and path.read_bytes().startswith(b"\x89PNG")


def test_each_dimension_is_judged_and_charted(shop):
    document = json.loads(say("judge", "dimensions", "--job", "1", "--into", shop / "charts", "--json"))
    assert len(document["compared"]) == 12 * 8
    lines = {line["number"]: line for line in document["lines"]}
    assert sorted(lines) == [*"12345678"] and all(line["pieces"] == 12 for line in lines.values())
    assert lines["7"]["lower"] is None and lines["7"]["conform"] == 12
    assert len(list((shop / "charts").glob("housing-*.svg"))) == 8


def test_factors_and_bleed_are_learnt_and_approved(shop):
    found = json.loads(say("learn", "propose", "steel-316l", "--json"))
    for axis, true in zip(found["axes"], 1 / RATIO, strict=True):
        assert abs(axis["found"] - true) < 3 * axis["found_u"] < 0.006
        assert axis["pieces"] == 12
    bleed = found["bleed"]
    assert abs(bleed["found_mm"] - BLEED) < 3 * bleed["u_mm"] < 0.006
    assert bleed["taken_mm"] == pytest.approx(0.02, abs=1e-9)
    assert any("24 of the readings were left out: angles, form and place" in note for note in found["notes"])
    shown = say("learn", "propose", "steel-316l")
    assert "bleed: found" in shown and "outlines were drawn inside by 20.0 um" in shown
    said = say("learn", "approve", found["entry"], "--reason", "three lots, twelve pieces")
    assert f'bleed = "{bleed["found_mm"] * 1e3:.0f} um" in the order' in said


def test_the_certificate_lists_every_dimension(shop):
    document = json.loads(say("certificate", "1", "--into", shop / "papers", "--json"))
    rows = next(each for each in document["sections"] if each["heading"] == "Dimensions of the drawing")[
        "rows"
    ]
    assert [row[0].split()[0] for row in rows] == [*"12345678"]
    assert [row[3] for row in rows] == ["12"] * 8 and rows[0][2] == "7.9 to 8.1 mm"
    assert (shop / "papers" / "certificate.pdf").stat().st_size > 10_000


def test_a_scan_gives_the_same_numbers(shop):
    say("readings", "instrument", "scanner", "--u", "5 um", "--u-shared-relative", "0.01 %")
    grown = (1.002, 0.998, 1.003)
    exported(body(grown, smaller=0.03).refine_to_length(0.6), shop / "scan.stl")
    words = (
        "readings",
        "scan",
        shop / "scan.stl",
        "B1",
        "housing 3",
        "--instrument",
        "scanner",
        "--as-filed",
    )
    told = json.loads(say(*words, "--json"))
    rows = [
        each
        for each in json.loads(say("readings", "--kind", "dimension", "--box", "B1", "--json"))["readings"]
        if each["instrument"] == "scanner"
    ]
    assert told["dimensions"] == len(rows) == 10 and told["not_read"] == []  # round ones twice
    values = {}
    for each in rows:
        values.setdefault(each["feature"], []).append(each["value"] * 1e3)
    mean = {name: float(np.mean(of)) for name, of in values.items()}
    assert mean["3 distance length"] == pytest.approx(40 * grown[0], abs=0.004)
    assert mean["4 distance width"] == pytest.approx(30 * grown[1], abs=0.004)
    assert mean["6 thickness height"] == pytest.approx(12 * grown[2], abs=0.004)
    assert mean["1 diameter main bore"] == pytest.approx(7.94 * (grown[0] + grown[1]) / 2, abs=0.004)
    least, greatest = sorted(values["1 diameter main bore"])
    assert greatest - least == pytest.approx(7.94 * 0.004, abs=0.006)


def test_the_book_is_whole(shop):
    whole = proof.prove(ledger())
    assert whole.entries >= 10 and whole.older == 0
