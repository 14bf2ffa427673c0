"""What intake says of sag, supports and the way a part stands."""

import dataclasses
import re

import numpy as np

import furnace_goods as hand
from sagger.geometry.surface import mesh
from sagger.goods.order import Request, Tolerance
from sagger.physics.sintering import sag
from sagger.physics.sintering.sag import Beam
from sagger.stations.intake.hanging import hanging, soft
from sagger.stations.intake.sag import sagging
from sagger.stations.intake.stance import angles_deg, sags_mm, standing
from sagger.stations.intake.turns import rotation, turns


def boxes(*rows):
    made = []
    for low, size in rows:
        block = hand.block(*size)
        made.append(mesh.shape(block.vertices + np.array(low, float), block.triangles))
    return mesh.merged(made)


def bridge(span=50.0, deck=3.0, tall=20.0):
    legs = [((x, 0, 0), (5, 10, tall)) for x in (0, 5 + span)]
    return boxes(*legs, ((0, 0, tall - deck), (span + 10, 10, deck)))


def asked(plus_minus=0.2, turn=(0.0, 0.0, 0.0)):
    tolerance = Tolerance(kind="mm", value=plus_minus)
    return Request(name="x", file="x", unit="mm", quantity=1, tolerance=tolerance, rotation_deg=turn)


def cell(**changes):
    steel = dataclasses.replace(hand.powder(), solid_density=hand.fig(7950.0), least_gap=hand.fig(0.2e-3))
    return hand.cell(powder=steel, furnace=hand.furnace(shelf_height=0.2), **changes)


def how():
    return soft(cell().powder, cell().powder.sintering)


def test_bridge_sags_as_beam_theory_says():
    found, k = hanging(bridge(), how()), (0.964 / 0.55) ** (1 / 3)
    beam = Beam(0.05 * k, 0.003 * k)
    wanted = sag.sag_after_sintering(0.55, 0.964, beam, 7950 * 9.80665, 5e-6 / 1.7, sag.CLAMPED)
    np.testing.assert_allclose(found.sag_mm.max(), 50 * wanted.total, rtol=0.05)


def test_overhang_sags_as_beam_theory_says():
    shelf, k = boxes(((0, 0, 0), (5, 10, 20)), ((0, 0, 16), (25, 10, 4))), (0.964 / 0.55) ** (1 / 3)
    beam = Beam(0.02 * k, 0.004 * k)
    wanted = sag.sag_after_sintering(0.55, 0.964, beam, 7950 * 9.80665, 5e-6 / 1.7, sag.OVERHANG)
    np.testing.assert_allclose(hanging(shelf, how()).sag_mm.max(), 20 * wanted.total, rtol=0.05)


def test_span_too_long_says_where_and_which_support_holds_it():
    found = sagging(bridge(), asked(), cell())
    assert found.level == "look" and found.value > 0.2
    np.testing.assert_allclose(found.at_mm, [30, 5, 17], atol=5.0)  # anywhere across its breadth
    assert "1 ledge" in found.text or "1 pillar" in found.text or "2 " in found.text
    kept = float(re.search(r"release gap 0.2 mm: ([\d.]+) mm", found.text)[1])
    assert kept < found.value and "on the setter" in found.text


def test_support_goes_on_the_part_where_the_part_is_below():
    framed = boxes(((0, 0, 0), (60, 10, 5)), ((0, 0, 0), (5, 10, 20)), ((55, 0, 0), (5, 10, 20)))
    framed = mesh.merged([framed, boxes(((0, 0, 17), (60, 10, 3)))])
    found = sagging(framed, asked(), cell())
    assert "on the part below" in found.text


def test_longer_span_gets_more_supports():
    counts = []
    for span in (50, 80, 120):
        found = sagging(bridge(span), asked(), cell())
        counts.append(int(re.search(r"With (\d)", found.text)[1]))
    assert counts == sorted(counts) and counts[0] < counts[-1]


def test_short_span_and_solid_block_are_fine():
    assert sagging(bridge(8.0, 6.0), asked(), cell()).level == "ok"
    block = sagging(hand.block(), asked(), cell())
    assert block.level == "ok" and "Nothing hangs" in block.text


def test_weak_figure_is_said_and_sand_has_no_sag():
    found = sagging(bridge(), asked(), cell())
    assert "not measured" in found.remedy and found.source.endswith("assumed")
    sand = hand.cell(powder=hand.sand(), furnace=None)
    assert sagging(bridge(), asked(), sand) is None is standing(bridge(), asked(), sand)


def test_bridge_lies_better_on_its_back():
    found = standing(bridge(), asked(), cell())
    assert found.level == "look" and found.what == "orientation on setter"
    x, y, z = (float(each) for each in re.search(r"turn = \[(.*?)\]", found.text)[1].split(", "))
    laid = mesh.mapped(bridge(), rotation((x, y, z)))
    assert hanging(laid, how()).sag_mm.max(initial=0.0) < 0.05


def test_part_that_tips_is_told_how_it_stands():
    heavy = boxes(((0, 0, 0), (5, 10, 10)), ((5, 0, 5), (60, 10, 5)))
    found = standing(heavy, asked(), cell())
    assert found.level == "look" and "tips over" in found.text and "It stands with turn" in found.text
    np.testing.assert_allclose(found.value, -27.5 + 5 * 10 * 10 / 3500 * 27.5, atol=3)


def test_advice_counts_from_the_file_not_from_the_turn_asked():
    turn = (90.0, 0.0, 0.0)
    lying = mesh.mapped(bridge(), rotation(turn))
    found = standing(lying, asked(turn=turn), cell())
    assert found.level == "ok"
    back = mesh.mapped(lying, rotation((270, 0, 0)))
    found = standing(back, asked(turn=(0.0, 0.0, 0.0)), cell())
    assert "turn = [90, 0, 0]" in found.text or "turn = [270, 0, 0]" in found.text or "180" in found.text


def test_angles_give_the_turn_back():
    for angles in ((270.0, 90.0, 0.0), (0.0, 180.0, 90.0), (30.0, 20.0, 10.0)):
        made = rotation(angles_deg(rotation(angles)))
        np.testing.assert_allclose(made, rotation(angles), atol=1e-5)


def test_sag_of_each_orientation_is_that_of_the_side_it_stands_on():
    part, ways = bridge(), turns("free")
    found = sags_mm(part, ways, cell())
    as_filed = hanging(part, how(), 90).sag_mm.max()
    np.testing.assert_allclose(found[ways[:, 2, 2] == 1], as_filed, rtol=1e-12)
    assert found.min() < 0.2 * as_filed  # on its side nothing spans
    assert sags_mm(part, ways, hand.cell(powder=hand.sand(), furnace=None)) is None


def test_like_places_are_told_once():
    legs = [((40 * n, 0, 0), (4, 10, 20)) for n in range(6)]
    found = sagging(boxes(((0, 0, 17), (204, 10, 3)), *legs), asked(), cell())
    assert found.text.count("span") == 2 and re.search(r"Too far as well: 4 × 36\.\d mm span", found.text)
    assert found.what == "sag" and found.at_mm[2] == 17


def test_other_places_follow_the_worst():
    legs = [((x, 0, 0), (4, 10, 20)) for x in (0, 40, 70, 130)]
    found = sagging(boxes(((0, 0, 17), (134, 10, 3)), *legs), asked(), cell())
    spans = [float(length) for length in re.findall(r"([\d.]+) mm span", found.text)]
    np.testing.assert_allclose(spans, [56, 36, 26], atol=1.0)
    assert 74 < found.at_mm[0] < 130


def test_what_gives_way_has_no_sag_to_tell():
    thin = bridge(120.0, 0.8)
    found, stance = sagging(thin, asked(), cell()), standing(thin, asked(), cell())
    assert "it gives way" in found.text and found.value is None and found.weight == 3
    assert stance.text.startswith("As filed part of it gives way") and stance.value is None
    assert sagging(bridge(), asked(), cell()).weight == 2
