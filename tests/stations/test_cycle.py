import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sagger.stations import cycle, dosing

by_hand = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("by_hand.py"))))


def clock(stack=None, share=0.2, **cards):
    stack = stack or by_hand.stack()
    hand = {name: cards.get(name) or getattr(by_hand, name)() for name in ("powder", "binder", "head", "box")}
    rest = (hand["powder"], hand["binder"], hand["head"], hand["box"])
    dose = dosing.plan(stack, by_hand.tally(stack, share), *rest, by_hand.choices())
    return cycle.time(stack, dose, *rest)


def test_layer_is_the_sum_of_its_motions():
    table = clock()
    np.testing.assert_allclose(table.spread, 2.0, rtol=1e-12)
    np.testing.assert_allclose(table.back, 1.0, rtol=1e-12)
    assert (table.stripes, table.passes) == (4, 8)  # 250 / 64.008 mm, 400 -> 800 dpi
    np.testing.assert_allclose(table.print, 8 * (430 / 500 + 0.3), rtol=1e-12)
    parts = (table.spread, table.back, table.print, table.dry, table.clean, table.platform)
    np.testing.assert_allclose(table.layer, sum(parts), rtol=1e-12)
    np.testing.assert_allclose(table.build, 100 * table.layer, rtol=1e-12)


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
    np.testing.assert_allclose(table.lamp_power, (bed + liquid) / 0.45, rtol=2e-3)


def test_no_drying_needs_no_lamp():
    assert clock(binder=by_hand.binder(dry_time="0 s")).lamp_power == 0.0


def test_vapour_is_that_of_the_wettest_layer():
    table = clock()
    vapour = 0.294e-6 * 1050 * 0.3 / table.layer
    np.testing.assert_allclose(table.vapour, vapour, rtol=1e-3)
    limit = 0.0500 * (1 - 0.0014 * 40)  # kg/m3 of isopropanol at 60 degC
    np.testing.assert_allclose(table.ventilation, vapour / (0.25 * limit), rtol=2e-3)


def test_vapour_is_told_with_caution_and_deferral():
    (finding,) = clock().findings
    assert finding.level == "look" and "licensed" in finding.remedy and "code" in finding.remedy
    assert "safe" not in (finding.text + finding.remedy).lower()


def test_binder_without_solvent_gives_no_vapour():
    table = clock(binder=by_hand.binder(solvent="0 %"))
    assert (table.vapour, table.ventilation, table.findings) == (0.0, 0.0, ())


def test_more_resolution_costs_passes_not_spreading():
    coarse, fine = (
        clock(by_hand.stack(pitch_mm=(0.0635, 0.0635))),
        clock(by_hand.stack(pitch_mm=(0.0635, 0.02))),
    )
    assert fine.passes == 4 * coarse.passes and fine.spread == coarse.spread


def test_water_of_the_lamp_agrees_with_steam_tables():
    iapws = pytest.importorskip("iapws")
    from sagger.stations.cycle import clock as room

    liquid, steam = iapws.IAPWS97(T=333.15, x=0), iapws.IAPWS97(T=333.15, x=1)  # IAPWS-IF97
    np.testing.assert_allclose(room.WATER_LATENT, (steam.h - liquid.h) * 1e3, rtol=2e-3)
    cool = iapws.IAPWS97(T=298.15, x=0)
    np.testing.assert_allclose(room.WATER_HEAT, (liquid.h - cool.h) * 1e3 / 35, rtol=2e-3)
