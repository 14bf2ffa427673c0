"""A run goes in as a table and comes out as a figure of the shop's own card, which plans then use."""

import dataclasses

import numpy as np
import pytest

import exact_block
from sagger import cards
from sagger.desk.cards.ovenrun import OvenRunInput, fitted
from sagger.errors import InputError
from sagger.physics.heat import conduction
from sagger.stations.cure import filling

BOX, OVEN = cards.load("box", "box-160x65x65"), cards.load("oven", "box-oven")


@pytest.fixture
def table(tmp_path, monkeypatch):
    """Read in a small block of 316L powder, 0.14 W/mK; the box around it was left out when it was made."""
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    time = np.linspace(0, 4 * 3600, 100)
    block = conduction.Block((0.16, 0.065, 0.065), 0.14, 0.55 * 7950 * 504, 20.0, 298.15, 473.15)
    core = exact_block.temperature(block, conduction.core(block), time) - 273.15
    path = tmp_path / "run.csv"
    rows = [f"{at:.1f},200,{kelvin:.2f}" for at, kelvin in zip(time, core, strict=True)]
    path.write_text("\n".join(["time_s,oven_degC,core_degC", *rows]))
    return path


ASKED = OvenRunInput(powder="steel-316l", box="box-160x65x65", oven="box-oven")


@pytest.mark.slow
def test_run_that_is_kept_becomes_the_bed_conductivity_of_the_own_card(table, tmp_path):
    document, lines = fitted(table, dataclasses.replace(ASKED, keep=True))
    powder = cards.load("powder", "steel-316l", [tmp_path / "cards"])
    figure = powder.bed_conductivity
    np.testing.assert_allclose(figure.value, document.bed_conductivity_W_per_mK, rtol=1e-3)
    assert figure.standing == "measured" and figure.u > 0 and "32 mm" in figure.where
    assert filling.conductivity(powder, 0.55, OVEN, 473.15).origin == "card"
    assert powder.d50.printed == cards.load("powder", "steel-316l").d50.printed
    assert "kept on" in lines[-1]


@pytest.mark.slow
def test_run_that_is_not_kept_changes_no_card(table, tmp_path):
    _, lines = fitted(table, ASKED)
    assert not (tmp_path / "cards").exists()
    assert "the card says 0.20 W/m.K (worked)" in lines
    assert "--keep" in lines[-1]


def test_powder_higher_than_the_box_is_refused(table):
    with pytest.raises(InputError, match=r"--height.*no higher than the box"):
        fitted(table, dataclasses.replace(ASKED, height="70 mm"))
