"""Cards chosen together make a cell, or are refused."""

from dataclasses import replace
from itertools import product

import pytest

from sagger import cards
from sagger.cards.read import SHIPPED
from sagger.errors import CardError
from sagger.goods.figure import WEAK

FURNACES = {"steel-316l": "metal-batch", "steel-17-4ph": "metal-batch", "alumina": "ceramic-batch"}
FIRED = [
    replace(cards.DEFAULTS, powder=powder, furnace=furnace, head=head, box=box)
    for (powder, furnace), head, box in product(FURNACES.items(), cards.names("head"), cards.names("box"))
]
SAND = [
    replace(cards.DEFAULTS, powder="silica-sand", binder="furan", furnace="", head=head, box=box)
    for head, box in product(cards.names("head"), cards.names("box"))
]


@pytest.mark.slow
@pytest.mark.parametrize("names", FIRED + SAND, ids=lambda names: f"{names.powder}-{names.head}-{names.box}")
def test_every_sensible_combination_makes_a_cell(names):
    cell = cards.cell(names)
    assert (cell.furnace is None) == (cell.powder.kind == "sand")
    assert cell.powder.kind in cell.binder.fits
    assert cards.cautions(cell)


def refusal(**changes):
    with pytest.raises(CardError) as caught:
        cards.cell(replace(cards.DEFAULTS, **changes))
    return str(caught.value)


def test_a_binder_must_fit_the_powder():
    message = refusal(binder="furan")
    assert "binder furan does not fit steel-316l, a metal powder" in message
    assert "It fits: sand" in message


def test_a_metal_needs_a_furnace():
    assert "needs a furnace" in refusal(furnace="")


def test_sand_has_no_furnace():
    assert "is not sintered" in refusal(powder="silica-sand", binder="furan")


def test_a_furnace_must_offer_the_atmosphere():
    message = refusal(furnace="ceramic-batch")
    assert "Asked: hydrogen; offered: air." in message


def test_a_furnace_must_reach_the_temperature(tmp_path):
    text = (SHIPPED / "furnaces" / "metal-batch.toml").read_text(encoding="utf-8")
    (tmp_path / "furnaces").mkdir()
    (tmp_path / "furnaces" / "metal-batch.toml").write_text(text.replace("1450 degC", "1350 degC"))
    with pytest.raises(CardError, match="stays below the 1360 degC that steel-316l asks for"):
        cards.cell(cards.DEFAULTS, [tmp_path])


def test_a_box_must_go_into_the_oven(tmp_path):
    text = (SHIPPED / "ovens" / "box-oven.toml").read_text(encoding="utf-8")
    (tmp_path / "ovens").mkdir()
    (tmp_path / "ovens" / "box-oven.toml").write_text(text.replace("1000 mm", "240 mm"))
    with pytest.raises(CardError, match="box-400x250x250 is larger than the oven box-oven"):
        cards.cell(cards.DEFAULTS, [tmp_path])


def test_each_kind_must_be_named():
    assert "a cell needs a head card" in refusal(head="")


def test_weak_figures_are_those_of_memory_and_assumption_and_no_others():
    cell = cards.cell(cards.DEFAULTS)
    weak = {(row.card, row.figure) for row in cards.weak(cell)}
    members = (cell.powder, cell.binder, cell.head, cell.box, cell.oven, cell.furnace, cell.shop)
    for card in members:
        for name, figure in cards.figures(card):
            assert ((card.name, name) in weak) == (figure.standing in WEAK)
    assert ("steel-316l", "sintering.surface_energy") in weak
    assert ("steel-316l", "sintering.anisotropy_z") not in weak


def test_weak_rows_tell_what_to_print():
    rows = {row.figure: row for row in cards.weak(cards.cell(cards.DEFAULTS)) if row.card == "steel-316l"}
    row = rows["green_strength"]
    assert (row.printed, row.standing, row.source) == ("5 MPa", "memory", "memory")


def test_the_sources_of_a_cell_are_those_its_figures_cite():
    sources = cards.sources(cards.cell(cards.DEFAULTS))
    assert sources["cabo2022"].startswith("Cabo Rios, Hryha, Olevsky, Harlin, Sintering anisotropy")
    assert sources["cabo2022"].endswith("2022, doi:10.1080/00325899.2021.2020485 (read: abstract)")
    assert "thermalmass" not in sources  # cited by sand only
    sand = cards.cell(SAND[0])
    assert "thermalmass" in cards.sources(sand) and "cabo2022" not in cards.sources(sand)


def test_sand_knows_its_castings_by_two_sources():
    """Pattern makers' table: carbon steel 3/16 in per ft is 1.5625 %, grey iron 3/32 in per ft 0.781 %."""
    castings = {casting.alloy: casting for casting in cards.load("powder", "silica-sand").castings}
    assert castings["carbon steel"].contraction.value == pytest.approx(3 / 16 / 12, rel=1e-9, abs=0)
    assert castings["grey iron"].contraction.value == pytest.approx(3 / 32 / 12, rel=1e-3, abs=0)
    assert all(casting.contraction.source != casting.other.source for casting in castings.values())
