"""Each hazard of a cell brings its caution, in the usual words and with whose rules govern."""

import re
from dataclasses import replace

import pytest

from sagger import cards
from sagger.cards.cautions import filled_mass
from sagger.cards.read import SHIPPED, open_table, read_sources
from sagger.errors import CardError
from sagger.goods.figure import STANDINGS

SAND = replace(cards.DEFAULTS, powder="silica-sand", binder="furan", furnace="")
ALUMINA = replace(cards.DEFAULTS, powder="alumina", furnace="ceramic-batch")


def keys(names):
    return {caution.key for caution in cards.cautions(cards.cell(names))}


def test_the_heading_comes_first():
    first = cards.cautions(cards.cell(cards.DEFAULTS))[0]
    assert first.text.startswith("Planning aid, not a safety assessment.")


def test_steel_in_hydrogen_brings_its_cautions():
    assert keys(cards.DEFAULTS) >= {
        "metal dust", "steel powder", "fire response", "nickel", "chromium", "solvent vapour",
        "debinding gas", "hydrogen", "inert gas", "hot surface", "heavy box",
    }  # fmt: skip
    assert not keys(cards.DEFAULTS) & {"silica", "foundry binder", "dust"}


def test_sand_brings_silica_and_foundry_binder_and_no_furnace():
    assert keys(SAND) >= {"silica", "foundry binder", "hot surface", "heavy box"}
    assert not keys(SAND) & {"metal dust", "hydrogen", "debinding gas", "inert gas", "nickel"}


def test_alumina_in_air_brings_no_hydrogen_and_no_metal():
    assert keys(ALUMINA) >= {"dust", "debinding gas", "solvent vapour"}
    assert not keys(ALUMINA) & {"hydrogen", "inert gas", "metal dust"}


def test_a_light_box_is_not_called_heavy():
    small = replace(cards.DEFAULTS, box="box-160x65x65")
    assert filled_mass(cards.cell(small)) < 25 < filled_mass(cards.cell(cards.DEFAULTS))
    assert "heavy box" not in keys(small)


@pytest.mark.slow
def test_every_caution_can_be_called():
    called = keys(cards.DEFAULTS) | keys(SAND) | keys(ALUMINA)
    called |= {caution.key for caution in cards.cautions(with_index("85 bar.m/s", 85e5))}
    assert called == {entry["key"] for entry in open_table(SHIPPED / "cautions.toml")["caution"]}


def with_index(printed, value):
    """The steel's cell with a laboratory's K_St on its card."""
    cell = cards.cell(cards.DEFAULTS)
    index = replace(cell.powder.d50, value=value, printed=printed, source="our report", standing="measured")
    return replace(cell, powder=replace(cell.powder, dust_index=index))


@pytest.mark.parametrize(
    ("printed", "value", "of"),
    [("85 bar.m/s", 85e5, "St 1"), ("0 bar.m/s", 0.0, "St 0"), ("310 bar.m/s", 310e5, "St 3")],
)
def test_a_laboratorys_dust_index_is_told_with_its_class_and_no_reassurance(printed, value, of):
    (told,) = [
        each for each in cards.cautions(with_index(printed, value)) if each.key == "dust explosion class"
    ]
    assert f"K_St {printed}: dust explosion class {of}." in told.text and "No class means" in told.text
    assert (told.source, told.standing) == ("our report", "measured")


def test_no_text_calls_anything_safe():
    for entry in open_table(SHIPPED / "cautions.toml")["caution"]:
        assert not re.search(r"\b(safe|safely|harmless|no risk)\b", entry["text"], re.I), entry["key"]


def test_every_caution_defers_and_has_a_source():
    sources = read_sources([SHIPPED])
    for names in (cards.DEFAULTS, SAND, ALUMINA):
        for caution in cards.cautions(cards.cell(names)):
            assert caution.defer_to and caution.step
            assert caution.source in sources and caution.standing in STANDINGS


def test_a_hazard_without_caution_does_not_pass_in_silence(tmp_path):
    text = (SHIPPED / "powders" / "steel-316l.toml").read_text(encoding="utf-8")
    (tmp_path / "powders").mkdir()
    (tmp_path / "powders" / "steel-316l.toml").write_text(text.replace('"chromium"]', '"cobalt"]'))
    cell = cards.cell(cards.DEFAULTS, [tmp_path])
    with pytest.raises(CardError, match="no caution is written for this hazard"):
        cards.cautions(cell)
