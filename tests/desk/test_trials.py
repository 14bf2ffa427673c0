"""Coupons to card: bleed and ladder from a table, figures on the shop's own card, and into the next job."""

import numpy as np
import pytest

from sagger import cards
from sagger.desk.cards import own_cards, trials
from sagger.desk.planning.orders import BareOrder, read
from sagger.errors import InputError, LotError
from sagger.physics.drops import wetting


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    return tmp_path


def coupons(path, reach_um=20.0, depth_um=60.0):
    rng = np.random.default_rng(5)
    rows = ["nominal_mm,measured_mm,axis"]
    for size in (3, 6, 12, 24):
        for axis, off in (("x", 2 * reach_um), ("y", 2 * reach_um), ("z", depth_um)):
            for _ in range(3):
                rows.append(f"{size},{size * 1.002 + (off + rng.normal(0, 3)) / 1e3:.5f},{axis}")
    path.write_text("\n".join(rows) + "\n")
    return path


def test_bleed_goes_on_the_card_and_from_there_into_the_layers(shop):
    document, lines = trials.bleed(coupons(shop / "c.csv"), "steel-316l")
    assert "kept on" in " ".join(lines)
    card = cards.load("powder", "steel-316l", (shop / "home" / "cards",))
    np.testing.assert_allclose(card.bleed.value, 20e-6, rtol=0.2)
    np.testing.assert_allclose(card.bleed_depth.value, 60e-6, rtol=0.1)
    assert card.bleed.standing == "measured" and card.bleed.u > 0
    np.testing.assert_allclose(document.fits["bleed"].reach_um * 1e-6, card.bleed.value, rtol=1e-3)


@pytest.mark.slow
def test_writing_twice_replaces_and_leaves_the_rest(shop):
    for reach in (20.0, 35.0):
        trials.bleed(coupons(shop / "c.csv", reach), "steel-316l")
    own = cards.load("powder", "steel-316l", (shop / "home" / "cards",))
    shipped = cards.load("powder", "steel-316l")
    np.testing.assert_allclose(own.bleed.value, 35e-6, rtol=0.15)
    assert own.price.printed == shipped.price.printed and own.sintering.programme[0].rate
    assert (shop / "home" / "cards" / "powders" / "steel-316l.toml").read_text().count("[bleed]") == 1


def test_no_bleed_is_told_from_none_when_there_is_none(shop):
    document, lines = trials.bleed(coupons(shop / "c.csv", 0.0), "")
    assert document.fits["bleed"].told_from_none is False and "[bleed]\n" not in "\n".join(lines)


def ladder(path, at=0.8, strong=0.6):
    rows = ["part,saturation_percent,nominal_mm,measured_mm,strength_MPa"]
    for s in np.linspace(0.5, 1.1, 7):
        for size in (4, 8, 16):
            read = size * 1.001 + 0.03 + 2e3 * wetting.square_bleed(max(s, at), at, size / 1e3)
            rows.append(f"p,{100 * s:.4g},{size},{read:.5f},{2.0 if s < strong else 6.0}")
    path.write_text("\n".join(rows) + "\n")
    return path


@pytest.mark.slow
def test_a_ladder_says_what_the_bed_holds_and_what_strength_needs(shop):
    document, lines = trials.ladder(ladder(shop / "l.csv"), "steel-316l", 5.0)
    np.testing.assert_allclose(document.held_saturation_percent, 80.0, atol=0.5, rtol=0)
    assert document.least_saturation_percent == pytest.approx(60.0, rel=1e-9, abs=0)
    card = cards.load("powder", "steel-316l", (shop / "home" / "cards",))
    np.testing.assert_allclose(card.held_saturation.value, 0.80, atol=0.005, rtol=0)
    assert any("card" in line or "kept" in line for line in lines)


def asked(head, most):
    return trials.LadderInput(powder="steel-316l", head=head, least=0.5, most=most, rungs=5)


@pytest.mark.slow
def test_a_ladder_is_laid_out_as_an_order_that_reads(shop):
    document, _ = trials.rungs(shop / "out", asked("head-800", 0.9))
    assert document.saturation_percent == pytest.approx((50, 60, 70, 80, 90), rel=1e-9, abs=0)
    laid = read(shop / "out" / "order.toml", BareOrder())
    assert laid.order.choices.bleed_um == 0.0  # what is on the card already must not hide what is looked for
    assert len(laid.order.requests) == 15 and laid.order.choices.saturation == 0.9
    shares = sorted({each.core_saturation for each in laid.order.requests})
    np.testing.assert_allclose(np.array(shares) * 0.9, [0.5, 0.6, 0.7, 0.8, 0.9], rtol=1e-5)
    rows = (shop / "out" / "readings.csv").read_text().splitlines()
    assert len(rows) == 16


def test_rungs_that_the_head_cannot_print_are_refused(shop):
    with pytest.raises(InputError, match="largest drop"):
        trials.rungs(shop / "out", asked("head-400", 1.9))


def test_a_strange_axis_is_told(shop):
    (shop / "c.csv").write_text("nominal_mm,measured_mm,axis\n3,3.1,q\n")
    with pytest.raises(LotError, match="x, y or z"):
        trials.bleed(shop / "c.csv", "")


def test_suction_constants_close(shop):
    rows = ["suction_kPa,saturation_percent"]
    for p in np.geomspace(1, 60, 25):
        rows.append(f"{p:.5g},{100 * wetting.equilibrium_saturation(p * 1e3, 4e3, 1.4, 0.08):.5g}")
    (shop / "s.csv").write_text("\n".join(rows) + "\n")
    trials.suction(shop / "s.csv", "steel-316l")
    card = cards.load("powder", "steel-316l", (shop / "home" / "cards",))
    np.testing.assert_allclose(card.entry_pressure.value, 4e3, rtol=0.01)


def test_a_card_that_is_not_there_is_refused(shop):
    with pytest.raises(InputError, match="no powder card"):
        own_cards.put("powder", "none", {})


def test_a_figure_that_the_card_cannot_hold_changes_nothing(shop):
    wrong = own_cards.CardFigure("3 kg", source="worked", where="here")
    with pytest.raises(InputError, match="unit of mass"):
        own_cards.put("powder", "steel-316l", {"bleed": wrong})
    assert not (shop / "home" / "cards").exists()


def test_keeping_needs_a_card():
    with pytest.raises(InputError, match="no powder card is named"):
        trials.kept_on("", True)
