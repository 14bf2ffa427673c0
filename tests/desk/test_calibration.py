"""From planned coupons to figures on the shop's own card, with a powder whose truth is known."""

import csv

import numpy as np
import pytest
from click.testing import CliRunner

from sagger import cards
from sagger.cli.calibrate import command
from sagger.desk.cards import calibration
from sagger.desk.home import card_folders
from sagger.errors import InputError
from sagger.files import coupons as table
from sagger.files import stl
from sagger.geometry.surface import mesh
from sagger.physics.burnout import arrhenius
from sagger.physics.sintering import densify, sag
from sagger.physics.sintering.sag import Beam

GREEN, SOLID, ENERGY, SOFT, Y, Z = 0.57, 7950.0, 240e3, 2e-6, 1.01, 1.12
SPEED = 9 / (4 * SOFT * 0.13)  # c of the master curve, K/s: eta_r 0.13 Pa.s/K


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))


def density(stretches):
    time, kelvin = calibration._path(stretches)
    return float(densify.densified(GREEN, SPEED * arrhenius.work(time, kelvin, ENERGY)[-1]))


def filled(folder):
    """The planned tables with what a powder of known figures would give."""
    card = cards.load("powder", "steel-316l").sintering
    firings, _ = table.firings(folder / "firings.csv")
    firings["card"] = [table.FiringStretch(each.rate, each.target, each.hold) for each in card.programme]
    rows = list(csv.DictReader((folder / "coupons.csv").read_text().splitlines()))
    for row in rows:
        end = density(firings[row["firing"]])
        x, y, z = _ratios(end)
        if row["kind"] == "cube":
            row |= dict(zip(table.LENGTHS, (18, 18, 18, 18 * x, 18 * y, 18 * z), strict=True))
            row["mass_g"] = 18**3 * 1e-9 * GREEN * SOLID * 1e3
        else:
            share = sag.sag_after_sintering(GREEN, end, Beam(0.048, 0.0064), SOLID * 9.80665, SOFT).total
            row |= {"z_green_mm": 6.4, "span_green_mm": 48, "span_mm": 48 * x, "sag_mm": share * 48 * x}
    with (folder / "coupons.csv").open("w") as file:
        written = csv.DictWriter(file, table.COUPONS)
        written.writeheader()
        written.writerows(rows)


def _ratios(end):
    from sagger.physics.sintering import shrinkage

    return shrinkage.ratios(GREEN, end, Y, Z)


def run(*words):
    found = CliRunner().invoke(command, words, catch_exceptions=False)
    assert found.exit_code == 0
    return found.output


def test_planned_coupons_are_closed_and_the_order_is_taken(tmp_path):
    run("plan", "steel-316l", "--into", str(tmp_path / "c"))
    for name in ("cube", "bar", "saddle"):
        body = stl.read(tmp_path / "c" / f"{name}.stl")[0]
        assert not len(mesh.open_edges(body)) and mesh.volume(body) > 0
    from sagger import files

    order, names, paths = files.order.read(tmp_path / "c" / "order.toml", cards.DEFAULTS)
    assert len(order.requests) == len(paths) == 3 and names.powder == "steel-316l"


def test_coupons_give_the_powder_back_on_the_shops_own_card(tmp_path):
    folder = tmp_path / "c"
    run("plan", "steel-316l", "--into", str(folder))
    filled(folder)
    tables = ["--coupons", str(folder / "coupons.csv"), "--firings", str(folder / "firings.csv")]
    output = run("evaluate", "steel-316l", *tables, "--keep")
    assert "kept on" in output and "the card says 5 um (assumed)" in output
    card = cards.load("powder", "steel-316l", card_folders()).sintering
    np.testing.assert_allclose(card.green_density.value, GREEN, rtol=1e-4)
    np.testing.assert_allclose([card.anisotropy_y.value, card.anisotropy_z.value], [Y, Z], rtol=1e-4)
    soft = card.capillary_radius.value / card.surface_energy.value
    np.testing.assert_allclose(soft, SOFT, rtol=0.01)
    pivot = card.viscosity_pivot.value
    moved = np.exp((card.activation_energy.value - ENERGY) / (8.314462618 * pivot))  # of the viscosity there
    np.testing.assert_allclose(card.viscosity_factor.value * moved * soft, 0.13 * SOFT, rtol=0.05)
    assert card.capillary_radius.standing == card.viscosity_factor.standing == "measured"
    assert "scatter = " not in output  # exact cubes of two firings have none
    assert card.activation_energy.u < 20e3 and abs(card.activation_energy.value - ENERGY) < 12e3


def test_the_same_tables_say_the_same_again_and_are_kept_once(tmp_path):
    """Not starting from the figures that they gave the first time: a killed command is given again."""
    folder = tmp_path / "c"
    run("plan", "steel-316l", "--into", str(folder))
    filled(folder)
    tables = ["--coupons", str(folder / "coupons.csv"), "--firings", str(folder / "firings.csv")]
    first = run("evaluate", "steel-316l", *tables, "--keep")
    own = card_folders()[0] / "powders"
    kept = (own / "steel-316l.toml").read_text()
    assert run("evaluate", "steel-316l", *tables, "--keep") == first
    assert (own / "steel-316l.toml").read_text() == kept and not (own / "earlier").exists()


def test_dilatometer_runs_alone_give_energy_and_viscosity(tmp_path):
    rows = ["run,time_min,temperature_degC,density_percent"]
    for rate in (2, 5, 10):
        kelvin = np.linspace(1200, 1720, 60)
        time = (kelvin - 1200) / rate * 60
        found = densify.densified(0.55, 5.3e6 * arrhenius.work(time, kelvin, ENERGY)) * 100
        rows += [f"{rate},{t / 60},{k - 273.15},{d}" for t, k, d in zip(time, kelvin, found, strict=True)]
    path = tmp_path / "runs.csv"
    path.write_text("\n".join([*rows, "5,1e9,x,60"]))
    output = run("evaluate", "steel-316l", "--runs", str(path))
    assert "LEFT OUT runs.csv, line 182, temperature_degC" in output and "not kept" in output
    found = float(output.partition("activation_energy = ")[2].split()[0])
    np.testing.assert_allclose(found, 240, rtol=5e-3)


def test_too_little_and_the_wrong_powder_are_refused(tmp_path):
    path = tmp_path / "coupons.csv"
    path.write_text(",".join(table.COUPONS) + "\nc,cube,card,18,18,18,15,15,15,,26,,,,\n")
    with pytest.raises(InputError, match="two cubes"):
        run("evaluate", "steel-316l", "--coupons", str(path))
    with pytest.raises(InputError, match="not sintered"):
        run("evaluate", "silica-sand", "--coupons", str(path))
