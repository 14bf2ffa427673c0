"""Every line of the calculation, and which part bears how much of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.job import Build
from sagger.goods.quote import Line
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered
from sagger.stations.cost import money
from sagger.units import into

SIZES = 3  # read on each piece: the overall ones


class Charge(NamedTuple):
    line: Line
    by_part: ndarray  # (parts,) [currency]; sums to the line's amount
    material: bool = False  # bears no overhead
    machine: float = 0.0  # of the amount: hours of machines [currency]
    hands: float = 0.0  # of the amount: hours of work by hand [currency]
    by_box: float = 0.0  # of the amount: the same for a box whatever it holds [currency]


def pieces_by_part(greens: tuple[Green, ...], builds: tuple[Build, ...]) -> ndarray:
    """How many pieces of each part lie in all boxes, int64 (parts,).

    Raises
    ------
    InputError
        If no piece was placed, or one part has none: there is nothing to price.
    """
    parts = [piece.part for build in builds for piece in build.layout.pieces]
    counts = np.bincount(np.array(parts, dtype=np.int64), minlength=len(greens))
    if not builds or np.any(counts == 0):
        raise InputError("a part without a piece in any box has no price", remedy="Nest every part first.")
    return counts


def charges(
    greens: tuple[Green, ...], builds: tuple[Build, ...], sintered: Sintered | None, cell: Cell
) -> tuple[Charge, ...]:
    """From powder to overhead: boxes by green volume, furnace by what is filled, inspection by piece."""
    lines = [
        _powder(greens, builds, cell),
        _binder(greens, builds, cell),
        _print(greens, builds, cell),
        _cure(greens, builds, cell),
        _depowder(greens, builds, cell),
    ]
    if sintered is not None and cell.furnace is not None:
        lines.append(_sinter(sintered, cell.furnace, cell.shop))
    lines.append(_inspect(pieces_by_part(greens, builds), cell.shop, fired=sintered is not None))
    lines.append(_overhead(lines, cell.shop))
    return (*lines, *_margin(lines, cell.shop))


def inspected(pieces: ndarray, shop: Shop, *, fired: bool) -> ndarray:
    """Hands-on time of inspecting the pieces of each part, float64 (parts,) [s]."""
    one = shop.inspect_time.value + SIZES * _value(shop.inspect_size_time)
    dense = np.minimum(pieces, _value(shop.inspect_density_pieces)) if fired else np.zeros(len(pieces))
    return np.asarray(pieces * one + dense * _value(shop.inspect_density_time))


def _value(figure: Figure | None) -> float:
    return figure.value if figure else 0.0


def _shares(build: Build, parts: int) -> ndarray:
    """Share of each part in the green volume of one box, (parts,)."""
    volume = np.zeros(parts)
    for piece in build.layout.pieces:
        green = build.layout.greens[piece.part]
        volume[piece.part] += green.part.volume_mm3 * abs(np.linalg.det(green.maps[piece.turn]))
    return np.asarray(volume / volume.sum())


def _by_box(
    greens: tuple[Green, ...], builds: tuple[Build, ...], amount: Callable[[Build], float]
) -> tuple[float, ndarray]:
    by_part = np.zeros(len(greens))
    for build in builds:
        by_part += amount(build) * _shares(build, len(greens))
    return float(by_part.sum()), by_part


def _powder(greens: tuple[Green, ...], builds: tuple[Build, ...], cell: Cell) -> Charge:
    price = cell.powder.price.value

    def amount(build: Build) -> float:
        return money.material(build.dose.powder_in_pieces, build.dose.powder_lost, price)

    total, by_part = _by_box(greens, builds, amount)
    pieces = sum(build.dose.powder_in_pieces for build in builds)
    lost = sum(build.dose.powder_lost for build in builds)
    basis = f"{pieces:.4g} kg in pieces + {lost:.4g} kg lost, {price:.4g} per kg"
    return Charge(Line(name="powder", amount=total, basis=basis), by_part, material=True)


def _binder(greens: tuple[Green, ...], builds: tuple[Build, ...], cell: Cell) -> Charge:
    price, flush = cell.binder.price.value, cell.shop.binder_flush.value

    def amount(build: Build) -> float:
        return money.material(build.dose.binder, build.dose.binder * flush, price)

    total, by_part = _by_box(greens, builds, amount)
    litres = sum(build.dose.binder for build in builds) * 1e3
    basis = f"{litres:.4g} L jetted + {flush:.3g} of it to flush, {into(price, 'cur/L'):.4g} per L"
    return Charge(Line(name="binder", amount=total, basis=basis), by_part, material=True)


def _print(greens: tuple[Green, ...], builds: tuple[Build, ...], cell: Cell) -> Charge:
    rate, labour = cell.box.rate.value, cell.shop.labour.value

    def amount(build: Build) -> float:
        times = build.timetable
        return money.run(times.build + times.setup, rate, times.setup, labour)

    total, by_part = _by_box(greens, builds, amount)
    setup = sum(build.timetable.setup for build in builds)
    machine = sum(build.timetable.build for build in builds) + setup
    basis = (
        f"{len(builds)} boxes, {_hours(machine)} of machine at {_hourly(rate)}, "
        f"{_hours(setup)} of it attended at {_hourly(labour)}"
    )
    line = Line(name="print", amount=total, basis=basis)
    return Charge(line, by_part, machine=machine * rate, hands=setup * labour, by_box=setup * (rate + labour))


def _cure(greens: tuple[Green, ...], builds: tuple[Build, ...], cell: Cell) -> Charge:
    rate, labour, hands = cell.oven.rate.value, cell.shop.labour.value, cell.shop.cure_labour.value

    def amount(build: Build) -> float:
        return money.run(build.cured.hold + build.cured.cool, rate, hands, labour)

    total, by_part = _by_box(greens, builds, amount)
    oven = sum(build.cured.hold + build.cured.cool for build in builds)
    basis = (
        f"{_hours(oven)} of oven at {_hourly(rate)}, {len(builds)} x {_hours(hands)} of labour "
        f"at {_hourly(labour)}"
    )
    line = Line(name="cure", amount=total, basis=basis)
    return Charge(line, by_part, machine=oven * rate, hands=len(builds) * hands * labour, by_box=total)


def _depowder(greens: tuple[Green, ...], builds: tuple[Build, ...], cell: Cell) -> Charge:
    labour = cell.shop.labour.value
    total, by_part = _by_box(greens, builds, lambda build: build.depowdering.hands_on * labour)
    hands = sum(build.depowdering.hands_on for build in builds)
    basis = f"{_hours(hands)} of labour at {_hourly(labour)}"
    return Charge(Line(name="depowder", amount=total, basis=basis), by_part, hands=total)


def _sinter(sintered: Sintered, furnace: Furnace, shop: Shop) -> Charge:
    load, hands = sintered.load, shop.furnace_labour.value
    one_run = money.run(sintered.run, furnace.rate.value, hands, shop.labour.value, furnace.run_price.value)
    # Parts share trays, so each bears what it would fill of trays of its own.
    fits = sorted(load.fits, key=lambda fit: fit.part)
    filled = np.array([fit.quantity / max(1, fit.per_tray) for fit in fits])
    basis = (
        f"{load.runs} runs of {_hours(sintered.run)} at {_hourly(furnace.rate.value)} + "
        f"{furnace.run_price.value:.4g} gas and energy + {_hours(hands)} of labour each; "
        f"{load.trays} trays, {load.trays_per_run} per run"
    )
    total = load.runs * one_run
    line = Line(name="sinter", amount=total, basis=basis)
    machine, by_hand = sintered.run * furnace.rate.value, hands * shop.labour.value
    by_part = total * filled / filled.sum()
    return Charge(line, by_part, machine=load.runs * machine, hands=load.runs * by_hand)


def _inspect(pieces: ndarray, shop: Shop, *, fired: bool) -> Charge:
    hands = inspected(pieces, shop, fired=fired)
    by_part = hands * shop.labour.value
    each = f"{hands.sum() / pieces.sum() / 60:.3g} min"
    basis = f"{int(pieces.sum())} pieces x {each}, {SIZES} sizes each, at {_hourly(shop.labour.value)}"
    amount = float(by_part.sum())
    return Charge(Line(name="inspect", amount=amount, basis=basis), by_part, hands=amount)


def _overhead(lines: list[Charge], shop: Shop) -> Charge:
    share = shop.overhead.value
    total = sum(charge.line.amount for charge in lines)
    material = sum(charge.line.amount for charge in lines if charge.material)
    by_part = share * np.sum([charge.by_part for charge in lines if not charge.material], axis=0)
    basis = f"{share:.3g} of {total - material:.2f}, all but material"
    amount = money.overhead(total, material, share)
    return Charge(Line(name="overhead", amount=amount, basis=basis), by_part)


def _margin(lines: list[Charge], shop: Shop) -> Iterator[Charge]:
    """What the shop earns, and what lifts a small order to the least that it takes one for."""
    by_part = np.sum([charge.by_part for charge in lines], axis=0)
    total, share = float(by_part.sum()), shop.margin.value if shop.margin is not None else 0.0
    if share:
        line = Line(name="margin", amount=share * total, basis=f"{share:.3g} of {total:.2f}")
        yield Charge(line, share * by_part)
    least = shop.least_order.value if shop.least_order is not None else 0.0
    lifted = least - (1 + share) * total
    if lifted > 0:
        line = Line(name="least order", amount=lifted, basis=f"no order below {least:.2f}")
        yield Charge(line, lifted * by_part / total)


def _hours(seconds: float) -> str:
    return f"{seconds / 3600:.3g} h"


def _hourly(rate: float) -> str:
    return f"{into(rate, 'cur/h'):.4g} per h"
