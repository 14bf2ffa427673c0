"""Measuring and learning, timed and tried on a made-up shop; ends with one JSON object.

One function per figure. The shop: 300 boxes of 60 pieces, each box filled from a blend of what came back
from the one before and virgin powder, and 100,000 readings.
"""

from __future__ import annotations

import json
import runpy
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.stats import t as student

from sagger import cards, ledger
from sagger.files import readings as table
from sagger.goods.booked import BookedBox, BookedPiece, FiredPiece, FurnaceRun, PrintedFrom
from sagger.goods.factors import Factors
from sagger.goods.lot import Lot
from sagger.goods.reading import Instrument
from sagger.ledger import Ledger, boxes, lots, readings, trace
from sagger.stations import measure, nest

BOXES, PIECES, READINGS = 300, 60, 100_000
ME = lots.Mover(person="benchmark")
CALLIPER = Instrument(name="calliper 1", kind="length", u=5e-6, u_shared=1e-5, u_shared_relative=2e-4)
SHOP = runpy.run_path(str(Path(__file__).parents[1] / "examples" / "invented_shop.py"))
POWDER, BOX = cards.load("powder", "steel-316l", ()), cards.load("box", "box-400x250x250", ())
K, TRUE = np.array([1.19, 1.19, 1.22]), 1 / SHOP["SHRUNK"]
CARD = Factors(k=K, u=np.full(3, 0.016), material="steel-316l", origin="card")
HEADING = "box,piece,kind,state,axis,feature,value,unit,nominal,instrument,taken\n"


def readings_100k_s(book: Ledger, folder: Path) -> float:
    """Seconds from a CSV file of 100,000 rows to the ledger."""
    path = folder / "readings.csv"
    rows = (
        f"B{row % BOXES},p{row // BOXES % PIECES},length,sintered,{'xyz'[row % 3]},bar,"
        f"{20 + row % 97 / 1000:.3f},mm,20,calliper 1,2030-01-07\n"
        for row in range(READINGS)
    )
    path.write_text(HEADING + "".join(rows))
    began = time.perf_counter()
    taken = table.read(path, {CALLIPER.name: CALLIPER})
    readings.add(book, taken.readings, "benchmark")
    assert len(taken.readings) == READINGS and not taken.bad
    return time.perf_counter() - began


def genealogy_ms(book: Ledger, folder: Path) -> float:
    """Milliseconds of the slowest of three questions, median of 5: back from a piece, forward from a lot."""
    questions: list[Callable[[], object]] = [
        lambda: trace.back(book, f"B{BOXES - 1}", "p7"),
        lambda: trace.back(book, f"B{BOXES // 2}", "p7"),
        lambda: trace.forward(book, "L5"),
    ]
    return 1000 * max(statistics.median(_seconds(each) for _ in range(5)) for each in questions)


def coverage_95(book: Ledger, folder: Path) -> float:
    """Share of 95 % intervals for a factor that hold the known truth, 500 campaigns of six boxes."""
    hits = []
    for seed in range(500):
        shop = SHOP["Shop"](SHOP["Truth"](slope=(0, 0, 0), bow=0, hot=0, wild=1e-3, furnace=6e-4), seed)
        given = SHOP["coupons"](shop, "123456", "ABCDEF", SHOP["nine_places"](), K, (28.0,), 0.0)
        for axis, true in zip(measure.learn(*given, CARD, POWDER, None).axes, TRUE, strict=True):
            hits.append(abs(axis.found - true) <= student.ppf(0.975, axis.freedom) * axis.found_u)
    return float(np.mean(hits))


def scatter_one_factor_um(book: Ledger, folder: Path) -> float:
    """Standard deviation of 50 mm lengths all over one box with one factor, furnace and gauge included."""
    return _scatter_um(by_place=False)


def scatter_by_place_um(book: Ledger, folder: Path) -> float:
    """The same with the oversize of each piece from the map that four boxes of coupons taught."""
    return _scatter_um(by_place=True)


def _scatter_um(*, by_place: bool) -> float:
    shop, random = SHOP["Shop"](SHOP["Truth"](), 1), np.random.default_rng(4)
    coupons = SHOP["coupons"](shop, "1234", "AABC", SHOP["nine_places"](), K)
    learnt = measure.learn(*coupons, CARD, POWDER, BOX).bed
    spots = random.uniform((25, 25, 20), (375, 225, 20), (4000, 3))
    k = nest.oversize_at(learnt, spots) if by_place else np.ones(len(spots))
    off = [
        shop.read(shop.lengths(0, np.array([50 * TRUE[0] * size]), at, "A", place, 0.0))[0]
        for at, size, place in zip(spots, k, random.choice(SHOP["PLACES"], len(spots)), strict=True)
    ]
    return 1000 * float(np.std(off))


FIGURES: dict[str, Callable[[Ledger, Path], float]] = {
    "readings_100k_s": readings_100k_s,
    "genealogy_ms": genealogy_ms,
    "coverage_95": coverage_95,
    "scatter_one_factor_um": scatter_one_factor_um,
    "scatter_by_place_um": scatter_by_place_um,
}


def shop(folder: Path) -> Ledger:
    """A ledger with a year of one printer in it."""
    book = ledger.open_at(folder / "home")
    pieces = tuple(BookedPiece(label=f"p{number}", part="bar", number=number) for number in range(PIECES))
    left = ""
    for number in range(BOXES):
        virgin = f"L{number // 50}"
        if number % 50 == 0:
            lots.receive(book, Lot(name=virgin, powder="steel-316l", origin="received"), 1000.0, ME)
        blend = {virgin: 6.0, left: 34.0} if left else {virgin: 40.0}
        lots.blend(book, blend, lots.named(f"M{number}"), ME)
        lots.charge(book, f"B{number}", {f"M{number}": sum(blend.values())}, ME)
        box = BookedBox(name=f"B{number}", powder="steel-316l", pieces=pieces, facts=PrintedFrom())
        boxes.book(book, box, "benchmark")
        stood = tuple(FiredPiece(box=box.name, piece=piece.label) for piece in pieces)
        boxes.fire(book, FurnaceRun(name=f"F{number}", furnace="metal-batch", pieces=stood), "benchmark")
        left = f"R{number}"
        lots.recover(book, box.name, lots.named(left), lots.Recovered(34.0, 6.0), ME)
    return book


def main() -> None:
    """Print every figure."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        book = shop(folder)
        print(json.dumps({figure: round(find(book, folder), 6) for figure, find in FIGURES.items()}))


def _seconds(question: Callable[[], object]) -> float:
    began = time.perf_counter()
    question()
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
