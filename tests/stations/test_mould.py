"""Printed sand as a foundry looks at it."""

import dataclasses

import numpy as np
import pytest

import furnace_goods as hand
from sagger import cards
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.order import Choices
from sagger.physics.powder import grains, sand
from sagger.stations import mould

SAND = cards.load("powder", "silica-sand")
PART = hand.part(size=(150.0, 80.0, 60.0))
OPENINGS = [600e-6, 425e-6, 300e-6, 212e-6, 150e-6, 106e-6]  # sieves 30 to 140
RETAINED = [1.60, 8.10, 33.80, 32.10, 16.50, 6.78]


def judged(alloy="grey iron", resin=0.015, lot=None, powder=SAND):
    dose = hand.dose(powder_in_pieces=10.0, solids_mass=10.0 * resin, saturation=0.05)
    return mould.judge((PART,), (dose,), powder, lot, Choices(alloy=alloy))


def sieved():
    sizes, finer = grains.passing(OPENINGS, RETAINED)
    curve = SizeCurve(size=np.append(sizes, 850e-6), finer=np.append(finer, 1.0), method="sieve")
    return Lot(name="S7", powder="silica-sand", origin="received", curve=curve)


def test_both_sources_of_contraction_are_told_with_what_they_are_apart():
    found = judged("aluminium")
    assert (found.contraction.used.printed, found.contraction.other.printed) == ("1.823 %", "1.25 %")
    np.testing.assert_allclose(found.contraction.apart_mm, 150 * (0.01823 - 0.0125), rtol=1e-9)
    assert [each.level for each in found.findings if each.what == "casting contraction"] == ["look"]


def test_sources_that_agree_are_no_look_and_no_alloy_is_no_contraction():
    assert judged("brass").findings[0].level == "ok"
    assert judged("").contraction is None and judged("").findings == ()


def test_fineness_is_the_handbook_s_when_the_lot_was_sieved():
    found = judged(lot=sieved())
    np.testing.assert_allclose(found.fineness, 51.22, rtol=0, atol=0.01)  # of these rows, by their products
    assert found.basis == "sieve curve of lot S7"


def test_the_card_s_sand_lies_between_the_multipliers_of_its_sieves():
    assert 70 < judged().fineness < 140  # d50 140 um stays on sieves 140 and 100
    assert judged().standing == "assumed"


@pytest.mark.parametrize("resin, level", [(0.015, "ok"), (0.019, "look")])
def test_loss_on_ignition_is_resin_and_acid_against_what_the_metal_bears(resin, level):
    found = judged(resin=resin)
    np.testing.assert_allclose(found.ignition, (resin + 0.003) / (1 + resin + 0.003), rtol=1e-9)
    assert [each.level for each in found.findings if each.what == "loss on ignition"] == [level]
    assert found.ignition_u > 0


def test_a_coarse_open_sand_is_a_look():
    sizes = {
        name: dataclasses.replace(getattr(SAND, name), value=3 * getattr(SAND, name).value)
        for name in ("d10", "d50", "d90")
    }
    found = judged(powder=dataclasses.replace(SAND, **sizes))
    assert "metal penetration" in [each.what for each in found.findings]


def test_the_sieves_of_the_law_are_those_of_the_tables():
    opening = {each.number: each.value for each in cards.sieves()}
    table = [(opening.get(each.number), each.value) for each in cards.afs()]
    np.testing.assert_allclose(sand.SIEVES, table[:-1], rtol=1e-9)
    assert table[-1][1] == sand.PAN
