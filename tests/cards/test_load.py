"""Every shipped card loads; each figure has unit, source and standing."""

import math
import re
from dataclasses import MISSING, fields
from pathlib import Path

import numpy as np
import pytest

from sagger import cards, units
from sagger.cards.page import entries
from sagger.cards.read import SHIPPED, open_table, read_sources
from sagger.goods.figure import STANDINGS
from sagger.goods.good import digest

ALL = [(kind, name) for kind in cards.KINDS for name in cards.names(kind)]


def test_the_promised_cards_are_shipped():
    assert cards.names("powder") == ["alumina", "silica-sand", "steel-17-4ph", "steel-316l"]
    assert cards.names("binder") == ["furan", "water-glycol"]
    assert cards.names("head") == ["head-1200", "head-400", "head-800"]
    assert cards.names("box") == ["box-160x65x65", "box-400x250x250", "box-800x500x400"]
    assert len(cards.names("furnace")) == 2
    assert cards.names("oven") == ["box-oven", "no-oven"]
    assert cards.names("shop") == ["plain-shop"]


@pytest.mark.parametrize(("kind", "name"), ALL)
def test_a_shipped_card_becomes_its_good(kind, name):
    card = cards.load(kind, name)
    assert type(card) is cards.KINDS[kind][0]
    assert card.name == name
    assert digest(card) == digest(cards.load(kind, name))


@pytest.mark.parametrize(("kind", "name"), ALL)
def test_each_figure_of_a_shipped_card_is_sourced(kind, name):
    known = read_sources([SHIPPED])
    found = list(cards.figures(cards.load(kind, name)))
    assert len(found) >= sum(
        "kind" in field.metadata and field.default is MISSING for field in fields(cards.KINDS[kind][0])
    )
    for field, figure in found:
        assert figure.source in known, field
        assert figure.standing in STANDINGS, field
        assert figure.where.strip(), field
        assert math.isfinite(figure.value) and figure.u >= 0, field


@pytest.mark.parametrize(("kind", "name"), ALL)
def test_a_source_of_memory_or_assumption_is_never_called_read(kind, name):
    known = read_sources([SHIPPED])
    for entry in entries(kind, name):
        origin = known[entry.source]["kind"]
        if origin in ("memory", "assumed"):
            assert entry.standing in ("memory", "assumed"), entry
        if entry.standing in ("read", "measured"):
            assert origin not in ("memory", "assumed", "own"), entry


def test_every_source_is_cited_and_says_how_much_of_it_was_read():
    beside = {"iso2768", "iso2768_2", "iso286", "astme11", "afs"}  # cited by the tables
    every = [entry for kind, name in ALL for entry in entries(kind, name)]
    cited = {word for entry in every for word in (entry.source, *re.findall(r"\w+", entry.where))}
    told = {caution["source"] for caution in _cautions()} | {figure["source"] for figure in _usual()}
    for key, entry in read_sources([SHIPPED]).items():
        assert key in cited | told | beside, f"{key} is cited nowhere"
        assert entry["title"] and entry["seen"] and entry["kind"]


def test_a_figure_is_what_the_card_prints_in_si():
    powder = cards.load("powder", "steel-316l")
    np.testing.assert_allclose(powder.solid_density.value, 7950.0, rtol=1e-12)
    np.testing.assert_allclose(powder.d50.value, 16e-6, rtol=1e-12)
    np.testing.assert_allclose(powder.sintering.programme[-1].target, 1360 + 273.15, rtol=1e-12)
    np.testing.assert_allclose(powder.sintering.programme[-1].rate, 5 / 60, rtol=1e-12)
    assert powder.solid_density.printed == "7.95 g/cm3"


def test_a_range_becomes_half_its_width_over_root_three():
    """Rectangular distribution, JCGM 100:2008, 4.3.7; 7.9 to 8.0 g/cm3."""
    density = cards.load("powder", "steel-316l").solid_density
    np.testing.assert_allclose(density.u, 50 / math.sqrt(3), rtol=1e-9)


def test_a_range_of_temperatures_has_no_zero_of_the_scale_in_it():
    peak = cards.load("powder", "steel-316l").sintering.debind_peak  # 400 to 470 degC
    np.testing.assert_allclose(peak.u, 35 / math.sqrt(3), rtol=1e-9)


def test_an_uncertainty_of_a_temperature_is_a_difference(tmp_path: Path):
    text = (SHIPPED / "ovens" / "box-oven.toml").read_text(encoding="utf-8")
    (tmp_path / "ovens").mkdir()
    text = text.replace('"260 degC"', '"260 degC"\nu = "3 degC"')
    (tmp_path / "ovens" / "my-oven.toml").write_text(text, encoding="utf-8")
    setting = cards.load("oven", "my-oven", [tmp_path]).temperature
    np.testing.assert_allclose([setting.value, setting.u], [533.15, 3.0], rtol=1e-12)


def test_furnace_uniformity_is_a_difference():
    furnace = cards.load("furnace", "metal-batch")
    np.testing.assert_allclose(furnace.uniformity.value, 8.0, rtol=1e-12)
    np.testing.assert_allclose(furnace.temperature.value, units.read("1450 degC", "temperature"), rtol=1e-12)


def test_a_cards_own_folder_stands_before_the_shipped_one(tmp_path: Path):
    text = (SHIPPED / "shops" / "plain-shop.toml").read_text(encoding="utf-8")
    (tmp_path / "shops").mkdir()
    (tmp_path / "shops" / "plain-shop.toml").write_text(
        text.replace("40 cur/h", "55 cur/h"), encoding="utf-8"
    )
    (tmp_path / "shops" / "my-shop.toml").write_text(text, encoding="utf-8")
    assert cards.names("shop", [tmp_path]) == ["my-shop", "plain-shop"]
    assert cards.load("shop", "plain-shop", [tmp_path]).labour.printed == "55 cur/h"
    assert cards.load("shop", "plain-shop").labour.printed == "40 cur/h"
    assert cards.load("shop", "my-shop", [tmp_path]).name == "my-shop"


def test_ones_own_sources_may_be_cited(tmp_path: Path):
    text = (SHIPPED / "shops" / "plain-shop.toml").read_text(encoding="utf-8")
    old = 'source = "assumed"\nwhere = "figure of a worked cost sample"\nstanding = "assumed"'
    new = 'source = "payroll"\nwhere = "2026, page 3"\nstanding = "measured"'
    (tmp_path / "shops").mkdir()
    (tmp_path / "shops" / "my-shop.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    (tmp_path / "sources.toml").write_text('[payroll]\nkind = "own"\ntitle = "Payroll"\nseen = "all"\n')
    labour = cards.load("shop", "my-shop", [tmp_path]).labour
    assert (labour.source, labour.standing, labour.weak) == ("payroll", "measured", False)


def _cautions():
    return open_table(SHIPPED / "cautions.toml")["caution"]


def _usual():
    kinds = [table for table in open_table(SHIPPED / "families.toml").values() if isinstance(table, dict)]
    return [figure for kind in kinds for figure in kind.values()]
