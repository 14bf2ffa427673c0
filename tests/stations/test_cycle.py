import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sagger.stations import cycle, dosing

by_hand = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("by_hand.py"))))


def clock(stack=None, share=0.2, tally=None, **cards):
    stack = stack or by_hand.stack(in_box=cards.get("box"))
    rest = [cards.get(name) or getattr(by_hand, name)() for name in ("powder", "binder", "head")]
    tally = tally or by_hand.tally(stack, share)
    dose = dosing.plan(stack, tally, *rest, by_hand.choices())
    return cycle.time(stack, tally, dose, *rest)


def test_layer_is_the_sum_of_its_motions():
    table = clock()
    np.testing.assert_allclose(table.spread, 2.0, rtol=1e-12)
    np.testing.assert_allclose(table.back, 1.0, rtol=1e-12)
    assert (table.stripes, table.passes) == (4, 8)  # 250 / 64.008 mm, 400 -> 800 dpi
    np.testing.assert_allclose(table.print, 8 * (430 / 500 + 0.3), rtol=1e-12)
    parts = (table.spread, table.back, table.print, table.dry, table.clean, table.platform)
    np.testing.assert_allclose(table.layer, sum(parts), rtol=1e-12)
    np.testing.assert_allclose(table.build, 100 * table.layer, rtol=1e-12)


def test_a_powder_that_does_not_spread_by_itself_is_waited_for():
    plain, helped = clock(), clock(powder=by_hand.powder(help_time=by_hand.figure("60 s")))
    np.testing.assert_allclose(helped.layer - plain.layer, 60.0, rtol=1e-9)
    np.testing.assert_allclose(helped.helped, 60.0, rtol=1e-12)
    assert helped.longest == "help with spreading" and plain.helped == 0.0


def test_thirteen_second_layer():
    head = by_hand.head(nozzles="2000 nozzles", native_y="400 dpi", resolution_y="400 dpi")
    stack = by_hand.stack(pitch_mm=(25.4 / 800, 25.4 / 400))
    np.testing.assert_allclose(clock(stack, head=head).layer, 13.0, rtol=1e-9)  # science page, section 4


def test_firing_stays_under_the_heads_limit_or_stops():
    assert clock().firing == pytest.approx(15748.03, rel=1e-6, abs=0)  # 500 mm/s / 31.75 um
    table = clock(head=by_hand.head(frequency="10 kHz"))
    (finding,) = (finding for finding in table.findings if finding.level == "stop")
    assert "318 mm/s" in finding.remedy


def test_lamp_warms_bed_and_binder():
    table = clock(binder=by_hand.binder(solids="10 %", dried_share="60 %"))
    bed = 35 * np.sqrt(np.pi * 0.20 * 0.58 * 7950 * 500 / 5) / 2 * 0.1
    liquid = 0.294e-6 * 1050 * 0.9 * 0.6 * (4180 * 35 + 2.36e6) / 5
    np.testing.assert_allclose(table.drying.lamp_power, (bed + liquid) / 0.45, rtol=2e-3)


def test_no_drying_needs_no_lamp():
    assert clock(binder=by_hand.binder(dry_time="0 s")).drying.lamp_power == 0.0


def test_vapour_is_that_of_the_wettest_layer():
    table = clock()
    vapour = 0.294e-6 * 1050 * 0.3 / table.layer
    np.testing.assert_allclose(table.drying.vapour, vapour, rtol=1e-3)
    np.testing.assert_allclose(table.drying.burst, vapour * table.layer / 5.0, rtol=1e-3)  # in 5 s of drying
    limit = 0.0500 * (1 - 0.0014 * 40)  # kg/m3 of isopropanol at 60 degC
    np.testing.assert_allclose(table.drying.ventilation, vapour / (0.25 * limit), rtol=2e-3)


def test_vapour_is_told_with_caution_and_deferral():
    (finding,) = (each for each in clock().findings if each.what == "solvent vapour")
    assert finding.level == "look" and "licensed" in finding.remedy and "code" in finding.remedy
    assert "safe" not in (finding.text + finding.remedy).lower()


def test_binder_without_solvent_gives_no_vapour():
    table = clock(binder=by_hand.binder(solvent="0 %"))
    dry = table.drying
    assert (dry.vapour, dry.burst, dry.ventilation, dry.solvent, dry.oven_air) == (0.0, 0.0, 0.0, 0.0, 0.0)
    assert "solvent vapour" not in {each.what for each in table.findings}


def test_more_resolution_costs_passes_not_spreading():
    coarse, fine = (
        clock(by_hand.stack(pitch_mm=(0.0635, 0.0635))),
        clock(by_hand.stack(pitch_mm=(0.0635, 0.02))),
    )
    assert fine.passes == 4 * coarse.passes and fine.spread == coarse.spread


def test_water_of_the_lamp_agrees_with_steam_tables():
    iapws = pytest.importorskip("iapws")
    from sagger.stations.cycle import dry as room

    liquid, steam = iapws.IAPWS97(T=333.15, x=0), iapws.IAPWS97(T=333.15, x=1)  # IAPWS-IF97
    np.testing.assert_allclose(room.WATER_LATENT, (steam.h - liquid.h) * 1e3, rtol=2e-3)
    cool = iapws.IAPWS97(T=298.15, x=0)
    np.testing.assert_allclose(room.WATER_HEAT, (liquid.h - cool.h) * 1e3 / 35, rtol=2e-3)


# ---- the real picture


def pictured(stack, rows):
    return dataclasses.replace(by_hand.tally(stack), rows=np.array(rows, np.int32))


def skipping(**words):
    return dataclasses.replace(by_hand.head(**words), skips_empty=True)


def test_stripes_without_drops_cost_nothing_where_the_head_leaves_them_out():
    stack = by_hand.stack(count=4)  # 7874 rows; a stripe is 1009 nozzles x 2 = 2018 rows
    tally = pictured(stack, [[-1, -1], [0, 2017], [100, 2018], [0, 7873]])
    plain, table = clock(stack, tally=tally), clock(stack, tally=tally, head=skipping())
    one = 430 / 500 + 0.3
    rest = table.by_layer[0]
    np.testing.assert_allclose(table.by_layer - rest, np.array([0, 2, 4, 8]) * one, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(plain.by_layer, rest + 8 * one, rtol=1e-12)
    np.testing.assert_allclose(table.build, table.by_layer.sum(), rtol=1e-12)
    saved = {each.name: each.build for each in plain.changes}["stripes without drops left out"]
    np.testing.assert_allclose(saved, table.build, rtol=1e-12)


@pytest.mark.parametrize("turns", [1, 2, 3])
@pytest.mark.parametrize("rows", [500, 2018, 7874])
def test_passes_are_those_that_the_head_is_driven_through(turns, rows):
    from sagger.stations import layers

    stack = dataclasses.replace(by_hand.stack(count=1), rows=rows)
    head = by_hand.head(redundancy=f"{turns} -")
    assert clock(stack, head=head).passes == len(layers.passes(stack, head))


def test_a_change_is_what_doing_it_gives():
    table = clock()
    by_name = {each.name: each for each in table.changes}
    half = clock(binder=by_hand.binder(dry_time="2.5 s"))
    np.testing.assert_allclose(by_name["drying half as long"].build, half.build, rtol=1e-12)
    wide = clock(head=by_hand.head(clean_every="30 layers"))
    np.testing.assert_allclose(by_name["cleaning half as often"].build, wide.build, rtol=1e-12)
    twice = clock(head=by_hand.head(redundancy="2 -"))
    np.testing.assert_allclose(by_name["each place passed 2 times"].build, twice.build, rtol=1e-12)
    assert [each.build for each in table.changes] == sorted(each.build for each in table.changes)


def test_passes_are_no_faster_than_the_head_fires():
    (change,) = (each for each in clock().changes if "passes" in each.name and "place" not in each.name)
    assert change.name == "passes at 952 mm/s" and "30 kHz" in change.note  # 30 kHz x 31.75 um
    fast = clock(head=by_hand.head(pass_speed="952.5 mm/s"))
    np.testing.assert_allclose(change.build, fast.build, rtol=1e-9)
    assert not [each for each in fast.changes if each.name.startswith("passes")]


def test_throughput_is_volume_and_mass_over_time():
    table = clock()
    np.testing.assert_allclose(table.volume_rate, 0.4 * 0.25 * 5e-5 / table.layer, rtol=1e-9)
    np.testing.assert_allclose(table.bed_rate, table.volume_rate * 0.58 * 7950, rtol=1e-9)
    np.testing.assert_allclose(table.piece_rate, 0.2 * table.bed_rate, rtol=1e-3)


def test_what_takes_longest_is_named():
    assert clock().longest == "printing"
    slow = clock(binder=by_hand.binder(dry_time="60 s"))
    assert slow.longest == "drying" and 0.5 < slow.longest_share < 1


# ---- water


def test_air_carries_what_the_science_page_says():
    """Science page, section 5.1: h 25 W/m2K, 60 degC into air of 25 degC and 50 %: 3.05 g/m2s."""
    dry = clock().drying
    np.testing.assert_allclose(dry.flux, 3.05e-3, rtol=0.04)  # air taken at 45 degC in between


def test_drying_shorter_than_air_can_carry_is_looked_at():
    table = clock(binder=by_hand.binder(dry_time="1 s"))
    assert "drying limited by air" in {each.what for each in table.findings}
    assert "drying limited by air" not in {each.what for each in clock().findings}


def test_water_jetted_is_water_gone_and_left():
    dry = clock().drying
    np.testing.assert_allclose(dry.gone.sum() + dry.water_left, dry.water_jetted, rtol=1e-12)
    assert 0 <= dry.water_left < 0.2 * dry.water_jetted


def test_less_drying_leaves_more_water():
    left = [clock(binder=by_hand.binder(dried_share=f"{p} %")).drying.water_left for p in (10, 30, 54)]
    assert left[0] > left[1] > left[2] >= 0


@pytest.mark.parametrize("seconds", [0.5, 1.0, 20.0])
def test_no_more_leaves_than_air_can_carry_in_the_time(seconds):
    stack = by_hand.stack()
    table = clock(stack, binder=by_hand.binder(dry_time=f"{seconds} s"))
    jetted = table.drying.water_jetted / stack.count  # every layer alike
    share = 0.9 * 0.54 / 0.6 * min(1.0, seconds / table.drying.least)  # of the water, in a layer's own drying
    np.testing.assert_allclose(table.drying.gone[0], share * jetted, rtol=1e-9)
