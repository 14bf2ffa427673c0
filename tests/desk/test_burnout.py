"""A thermobalance's table as a person has it: into figures, into an own card, and what is refused where."""

import numpy as np
import pytest

from sagger import cards
from sagger.desk.cards import burnout
from sagger.errors import InputError
from sagger.physics.burnout import binder_loss as law

ENERGY, PEAK, RATE = 199e3, 643.15, 10 / 60
SPAN = (473.15, 823.15)


def table(folder, rates=(2, 5, 10, 20)):
    frequency = law.frequency(ENERGY, PEAK, RATE)
    lines = ["# green part in nitrogen", "run,time_min,temperature_degC,mass"]
    for rate in rates:
        kelvin = np.linspace(303.15, 873.15, 600)
        time = (kelvin - kelvin[0]) / (rate / 60)
        mass = 25 * (1 - 0.021 * law.gone(time, kelvin, ENERGY, frequency))
        rows = zip(time / 60, kelvin - 273.15, mass, strict=True)
        lines += [f"{rate} K,{t:.4f},{c:.3f},{m:.5f}" for t, c, m in rows]
    path = folder / "green part.csv"
    path.write_text("\n".join(lines))
    return path


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    return tmp_path


def test_the_own_card_holds_what_was_measured_and_the_rest_as_it_was(home):
    _, lines = burnout.evaluate(table(home), *SPAN, RATE, "steel-316l", keep=True)
    assert lines[-1].startswith("kept on")
    made = cards.load("powder", "steel-316l", (home / "home" / "cards",))
    shipped = cards.load("powder", "steel-316l")
    np.testing.assert_allclose(made.sintering.debind_energy.value, ENERGY, rtol=0.003)
    np.testing.assert_allclose(made.sintering.debind_peak.value, PEAK, rtol=0, atol=0.5)
    assert made.sintering.debind_peak.u >= 1.0 and made.sintering.debind_energy.standing == "measured"
    assert made.sintering.debind_overpressure.printed == shipped.sintering.debind_overpressure.printed
    assert made.sintering.programme[-1].target == shipped.sintering.programme[-1].target


def test_nothing_is_kept_unless_asked_and_sand_has_nothing_to_keep_it_on(home):
    _, lines = burnout.evaluate(table(home), *SPAN, RATE, "steel-316l")
    assert "not kept" in lines[-1] and not (home / "home" / "cards").exists()
    assert any("the card says 242 kJ/mol (read)" in line for line in lines)
    with pytest.raises(InputError, match="not sintered"):
        burnout.evaluate(table(home), *SPAN, RATE, "silica-sand", keep=True)


@pytest.mark.parametrize(
    "line, cell, change, where",
    [
        (40, 3, "abc", "line 40, column mass"),
        (41, 1, "0.0", "line 41, column time_min"),
        (42, 2, "9000", "line 42, column temperature_degC"),
        (43, 3, "-1", "line 43, column mass"),
    ],
)
def test_a_bad_cell_is_named_by_line_and_column(home, line, cell, change, where):
    path = table(home)
    rows = path.read_text().splitlines()
    cells = rows[line - 1].split(",")
    cells[cell] = change
    rows[line - 1] = ",".join(cells)
    path.write_text("\n".join(rows))
    with pytest.raises(InputError, match=where):
        burnout.evaluate(path, *SPAN, RATE)


def test_two_rates_are_refused_and_a_run_outside_the_step_is_named(home):
    with pytest.raises(InputError, match="three runs"):
        burnout.evaluate(table(home, rates=(2, 10)), *SPAN, RATE)
    with pytest.raises(InputError, match="run 2 K"):
        burnout.evaluate(table(home), 900.0, 950.0, RATE)


def test_the_document_gives_every_method_with_its_uncertainty(home):
    document, _ = burnout.evaluate(table(home), *SPAN, RATE)
    for found in (document.kissinger, document.master_curve, document.by_share_gone[8].friedman):
        np.testing.assert_allclose(found.energy_kJ_per_mol, 199, rtol=0.01)
        assert 0 <= found.u_kJ_per_mol < 3
    assert len(document.runs) == 4 and document.schema == "sagger-burnout/1"
