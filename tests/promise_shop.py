"""An invented shop whose truth is known: 60 lots, an order of each; what was promised against what came out.

Every figure is invented. The truth is drawn here, piece by piece, by numpy alone; the promise comes from the
station. Each order starts as many pieces as the promise asks for.
"""

import dataclasses

import numpy as np

import furnace_goods as hand
from sagger.goods.learned import Approved, Scatter
from sagger.goods.order import Tolerance
from sagger.stations import promise
from sagger.statistics import starts
from sagger.statistics.tolerance import GUARD

SIZES, HALF = np.array([20.0, 20.0, 12.5]), 0.4  # mm, and tolerance in % of them
K, FACTOR, LOT, BED, FURNACE, PART, GAUGE = (1.19, 1.19, 1.22), 1e-3, 8e-4, 6e-4, 5e-4, 4e-4, 0.008
ASKED, COUPONS = 20, 5
SURVIVAL = 0.98 * 0.97 * 0.96 * 0.99


def stated(sure, factor=FACTOR, lot=LOT):
    """The promise for one order, `factor` and `lot` being the shop's relative doubts."""
    given = hand.factors(k=K, u=factor * np.array(K) * np.ones(3), origin="ledger 7")
    part = hand.part(size=tuple(SIZES), quantity=ASKED, tolerance=Tolerance(kind="percent", value=HALF))
    greens, cell = (hand.green(part, given),), hand.cell()
    scatter = Scatter(
        material="steel",
        lot=lot,
        bed=BED,
        furnace=FURNACE,
        part=PART,
        gauge_mm=GAUGE,
        readings=400,
        lots=9,
        beds=9,
        furnaces=9,
        origin="ledger",
    )
    order = dataclasses.replace(hand.order(greens), good=sure)
    fired = hand.fire(greens, cell.powder, cell.furnace)
    known = Approved(factors=given, scatter=scatter)
    (piece,) = promise.state(order, greens, (hand.build(greens),), fired, cell, known).pieces
    return piece


def after_coupons():
    """Relative doubt of each axis once coupons of the lot were measured, and the weight of what they say."""
    own = np.sqrt(BED**2 + FURNACE**2 + PART**2 + (GAUGE / SIZES) ** 2)
    shared = np.hypot(FACTOR, LOT)
    left = np.array([starts.shared_after(shared, each, COUPONS) for each in own.tolist()])
    return left, shared**2 / (shared**2 + own**2 / COUPONS)


def own(generator, count):
    """What pieces have for themselves, relative, float64 (count, 3)."""
    places = BED * generator.standard_normal((count, 1)) + FURNACE * generator.standard_normal((count, 1))
    return places + PART * generator.standard_normal((count, 3))


def good_ones(generator, started, coupons):
    """Pieces of one order that pass at the bench."""
    shared = FACTOR * generator.standard_normal(3) + LOT * generator.standard_normal()
    if coupons:
        seen = shared + own(generator, COUPONS) + GAUGE / SIZES * generator.standard_normal((COUPONS, 3))
        shared = shared - after_coupons()[1] * seen.mean(axis=0)
    read = SIZES * (shared + own(generator, started)) + GAUGE * generator.standard_normal((started, 3))
    inside = (np.abs(read) <= HALF / 100 * SIZES - GUARD * GAUGE).all(axis=1)
    return int(np.sum(inside & (generator.random(started) < SURVIVAL)))


def kept(sure, orders=60, coupons=False, seed=1):
    """The promise, and the share of orders that had enough good pieces."""
    piece = stated(sure, after_coupons()[0], 0.0) if coupons else stated(sure)
    generator = np.random.default_rng(seed)
    enough = [good_ones(generator, piece.least, coupons) >= ASKED for _ in range(orders)]
    return piece, float(np.mean(enough))
