"""The example orders, from part files to drop images, plan and quote."""

import json
from datetime import datetime

import lib3mf
import numpy as np
import pypdfium2
import pytest
import tifffile
from PIL import Image

from sagger.desk.planning import warm

pytestmark = pytest.mark.slow
NAMES = ["metal", "sand-core", "alumina"]


@pytest.fixture(scope="module")
def plans(one_shop, example):
    noted = one_shop.folder / "kernels.json"
    return {
        name: one_shop.plan(example(name), into=name, noted=noted.with_stem(f"kernels-{name}"))
        for name in NAMES
    }


@pytest.mark.parametrize("name", NAMES)
def test_black_area_times_height_is_the_volume_of_the_pieces(plans, name, black_mm3, expected_mm3):
    plan, into = plans[name]
    np.testing.assert_allclose(black_mm3(plan, into), expected_mm3(plan), rtol=2e-3)


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_asked_for_lies_in_a_box(plans, name):
    plan, _ = plans[name]
    for part in plan["parts"]:
        numbers = [piece["number"] for piece in plan["pieces"] if piece["part"] == part["index"]]
        assert sorted(numbers) == list(range(1, part["quantity"] + 1))


@pytest.mark.parametrize("name", NAMES)
def test_powder_in_is_pieces_and_loose_and_lost(plans, name):
    for box in plans[name][0]["boxes"]:
        powder = box["powder"]
        fed = powder["in_pieces_kg"] + powder["back_kg"] + powder["lost_kg"]
        np.testing.assert_allclose(fed, powder["fed_kg"], rtol=1e-9)


def test_sand_stops_after_the_oven_and_the_rest_goes_on(plans):
    assert plans["sand-core"][0]["sinter"] is None
    assert plans["metal"][0]["sinter"]["final_relative_density_percent"] > 95


def test_two_tiff_readers_see_the_same_drops_and_the_resolution(plans):
    plan, into = plans["alumina"]
    path = into / "layers" / f"{plan['layers']['count'] // 2:05d}.tif"
    with Image.open(path) as other:
        # The one turns the picture as seen from above, the other gives the rows as they stand.
        np.testing.assert_array_equal(tifffile.imread(path).astype(bool)[::-1], ~np.asarray(other))
    with tifffile.TiffFile(path) as file:
        tags = file.pages[0].tags
    dpi = [tags[name].value[0] / tags[name].value[1] for name in ("XResolution", "YResolution")]
    np.testing.assert_allclose(25400 / np.array(dpi), plan["layers"]["pitch_um"], rtol=1e-6)


def test_the_bed_file_is_read_by_a_strict_reader(plans):
    plan, into = plans["metal"]
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(into / "bed.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetBuildItems().Count() == sum(piece["box"] == 1 for piece in plan["pieces"])


@pytest.mark.parametrize("name", NAMES)
def test_each_box_has_a_traveller_with_its_cautions(plans, name):
    plan, into = plans[name]
    for box in plan["boxes"]:
        folder = into if box["number"] == 1 else into / f"box-{box['number']}"
        pages = pypdfium2.PdfDocument(folder / "traveller.pdf")
        text = " ".join(page.get_textpage().get_text_bounded() for page in pages)
        assert len(pages) <= 2
        assert "Planning aid, not a safety assessment" in text
        assert ("silica" in text) == (name == "sand-core")
        assert (folder / "traveller.html").read_text().lstrip().lower().startswith("<!doctype html>")


def test_what_the_example_orders_call_is_compiled_ahead_and_nothing_else(one_shop, plans):
    """If this fails: `make kernels` writes the list anew."""
    listed = {kernel.name: kernel for kernel in warm.listed()}
    called = {}
    for path in one_shop.folder.glob("kernels-*.json"):
        for name, takes in json.loads(path.read_text()).items():
            called.setdefault(name, set()).update(takes)
    assert called
    missing = {name: takes for name, takes in called.items() if not takes <= set(_takes(listed.get(name)))}
    assert not missing
    needed = called.keys() | {callee for name in called for callee in listed[name].after}
    assert listed.keys() - needed == set()


def _takes(kernel):
    return kernel.takes if kernel else ()


def test_a_second_plan_remembers_and_json_stands_alone(one_shop, plans, example):
    plan, into = plans["alumina"]
    assert json.loads(one_shop.say("plan", example("alumina"), "--into", into, "--json")) == plan
    number = json.loads(one_shop.say("jobs", "--json"))["jobs"][0]["id"]
    works = json.loads(one_shop.say("show", number, "--json"))["works"]
    assert {work["verb"].split(".")[-2] for work in works} >= {"nest", "dosing", "cycle", "cure", "sinter"}
    assert all(work["remembered"] for work in works)
    assert datetime.fromisoformat(plan["quote"]["ready"]) > datetime(2026, 1, 1)


def test_approved_factors_reach_the_print(shop, example):
    words = ["--k", "1.241", "1.252", "1.263", "--u", "0.001", "0.001", "0.001"]
    shop.say("factors", "approve", "alumina", *words, "--person", "A. Person", "--reason", "test")
    plan, _ = shop.plan(example("alumina"))
    assert plan["factors"]["k"] == [1.241, 1.252, 1.263]
    turn = np.array(plan["pieces"][0]["placement"])[:3, :3]
    np.testing.assert_allclose(np.linalg.norm(turn, axis=1), [1.241, 1.252, 1.263], rtol=1e-9)
