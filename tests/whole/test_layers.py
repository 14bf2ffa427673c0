"""Whole runs in which order and head card ask for everything that layers can do, read again afterwards."""

import json
import shutil

import numpy as np
import pytest
import tifffile

from sagger.cards.read import SHIPPED
from sagger.files import read_bed

pytestmark = pytest.mark.slow
CHOICES = """[choices]
bleed = "40 um"
depth = "50 um"
skin = "1 mm"
core_saturation = "60 %"
snap = true
"""
GREY = """[choices]
bleed = "15 um"
skin = "1 mm"
core_saturation = "60 %"
"""
LEVEL = '\n[[levels]]\nvalue = "{}"\nsource = "assumed"\nwhere = "test"\nstanding = "assumed"\n'


def head(shop, name, *lines, bits=1, levels=()):
    """A head card of the shop's own, made from a shipped one."""
    text = (SHIPPED / "heads" / "head-400.toml").read_text("utf-8")
    text = text.replace("bits = 1\n", "\n".join([f"bits = {bits}", *lines, ""]))
    folder = shop.folder / "home" / "cards" / "heads"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.toml").write_text(text + "".join(LEVEL.format(each) for each in levels))


def order(shop, example, card, choices):
    """The alumina example with another head, fewer pieces and choices of its own."""
    path = example("alumina")
    shutil.copytree(path.parent / "parts", shop.folder / "parts", dirs_exist_ok=True)
    text = path.read_text("utf-8").replace("quantity = 8", "quantity = 2").replace("head-400", card)
    file = shop.folder / f"{card}.toml"
    file.write_text(text.replace("[[part]]", f"{choices}\n[[part]]"))
    return file


@pytest.fixture(scope="module")
def styled(one_shop, example):
    """Compensated, with skin and core, snapped, printed upside down by a head with a dead nozzle."""
    head(one_shop, "tired", 'first_row = "y high"', "pass_images = true", "dead_nozzles = [300]")
    return one_shop.plan(order(one_shop, example, "tired", CHOICES), into="styled")


@pytest.fixture(scope="module")
def grey(one_shop, example):
    head(one_shop, "grey", bits=2, levels=("20 pL", "45.6 pL", "68.4 pL"))
    return one_shop.plan(order(one_shop, example, "grey", GREY), into="grey")


def test_what_was_asked_for_is_in_the_plan(styled):
    said = styled[0]["layers"]
    (treatment,) = said["treatments"]
    assert (treatment["bleed_um"], treatment["depth_um"], treatment["skin_mm"]) == (40, 50, 1)
    skin, core = said["classes"]
    np.testing.assert_allclose(core["saturation_percent"], 0.6 * skin["saturation_percent"], rtol=1e-9)
    np.testing.assert_allclose(core["drops"] / core["places"], 0.6, rtol=2e-3)
    assert skin["drops"] + core["drops"] == said["drop_table"][0]["drops"] + said["lost_drops"]


def test_snapped_pieces_stand_on_the_lattice_with_the_gap_asked(styled):
    plan, into = styled
    (box,) = plan["boxes"]
    assert box["gap_mm"] == 3.0
    assert box["least_gap_mm"] >= 3.0
    assert box["wall_gap_mm"] >= 2.0 - 1e-9
    shapes, items = read_bed(into / "bed.3mf")
    steps = np.array([25.4 / 400, 25.4 / 400, 0.05])
    for part, placement in items:
        lowest = (shapes[part].vertices @ placement[:3, :3].T + placement[:3, 3]).min(axis=0)
        np.testing.assert_allclose(lowest / steps, np.round(lowest / steps), rtol=0, atol=1e-5)


def test_a_dead_nozzle_is_told_and_each_pass_has_its_image(styled):
    plan, into = styled
    (found,) = [each for each in plan["findings"] if each["what"] == "dead nozzles"]
    assert (found["station"], found["level"], found["box"]) == ("layers", "look", 1)
    number = plan["layers"]["count"] // 3
    whole = tifffile.imread(into / "layers" / f"{number:05d}.tif")
    one = tifffile.imread(into / "layers" / "passes" / f"{number:05d}-01.tif")
    rows = plan["layers"]["rows"]
    assert one.shape == (1280, plan["layers"]["columns"])
    np.testing.assert_array_equal(
        one[::-1][:rows], whole[::-1]
    )  # both begin at high y, the head reaches beyond
    assert not whole[::-1][300].any()


def test_grey_binder_is_the_sum_over_the_drop_table(grey):
    plan, into = grey
    table = plan["layers"]["drop_table"]
    assert [row["level"] for row in table] == [1, 2, 3]
    volume = sum(row["volume_pL"] * row["drops"] for row in table) * 1e-9
    np.testing.assert_allclose(plan["binder"]["volume_mL"], volume, rtol=1e-6)
    np.testing.assert_allclose(
        [row["volume_pL"] / table[2]["volume_pL"] for row in table],
        np.array([20, 45.6, 68.4]) / 68.4,
        rtol=1e-6,
    )
    images = [tifffile.imread(path) for path in sorted((into / "layers").glob("*.tif"))]
    counts = sum(np.bincount(image.ravel(), minlength=4) for image in images)
    assert counts[1:].tolist() == [row["drops"] for row in table]
    assert "uneven levels" in {each["what"] for each in plan["findings"]}


@pytest.mark.parametrize("name", ["styled", "grey"])
def test_read_again_every_piece_keeps_the_limits(one_shop, name, request):
    plan, into = request.getfixturevalue(name)
    said = json.loads(one_shop.say("layers", into, "--json"))
    (box,) = said["boxes"]
    assert box["strays"] == 0
    assert [piece["number"] for piece in box["pieces"]] == [piece["number"] for piece in plan["pieces"]]
    for piece in box["pieces"]:
        assert piece["findings"] == []
        assert abs(piece["edge_bias_mm"]) < 0.01
        assert piece["volume_mm3"] < 0.9 * piece["expected_mm3"]  # the core is lean


def test_an_export_that_was_spoilt_is_not_let_through(one_shop, styled, tmp_path):
    _, into = styled
    shutil.copytree(into, tmp_path / "spoilt")
    layers = tmp_path / "spoilt" / "layers"
    for number in range(300, 420):  # the wrong layers, from 6 mm higher
        shutil.copy(into / "layers" / f"{number + 120:05d}.tif", layers / f"{number:05d}.tif")
    said = json.loads(one_shop.say("layers", tmp_path / "spoilt", "--json", code=3))
    whats = {found["what"] for piece in said["boxes"][0]["pieces"] for found in piece["findings"]}
    assert "outline" in whats
    (layers / "00300.tif").unlink()
    one_shop.say("layers", tmp_path / "spoilt", code=2)


def test_a_folder_moved_to_another_shop_is_read_all_the_same(shop, grey, tmp_path):
    shutil.copytree(grey[1], tmp_path / "elsewhere")
    assert "no stray drops" in shop.say("layers", tmp_path / "elsewhere")


def test_grey_heads_refuse_what_they_cannot_draw(shop, example):
    head(shop, "grey", bits=2, levels=("20 pL", "45.6 pL", "68.4 pL"))
    choices = '[choices]\ncompression = "g4"\n'
    shop.say("plan", order(shop, example, "grey", choices), "--into", shop.folder / "out", code=2)


@pytest.mark.parametrize("words", [["nowhere"], ["."]])
def test_a_folder_without_a_plan_is_refused(shop, words, tmp_path):
    shop.say("layers", tmp_path / words[0], code=2)
