"""A calibration planned: coupons to print, an order for them, and tables to fill in."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from scipy.constants import g

from sagger import cards
from sagger.desk.home import card_folders, write_whole
from sagger.errors import InputError
from sagger.files import coupons, stl, toml
from sagger.geometry.surface import blocks
from sagger.goods.good import good
from sagger.goods.plain import Plain, Table
from sagger.goods.powder import Powder, Sintering
from sagger.goods.shape import Shape
from sagger.physics.sintering import calibration, sag
from sagger.units import into

CUBE_MM, CUBES = 15.0, 6
SPAN_MM, REST_MM, BREADTH_MM, BRIDGES = 40.0, 3.0, 10.0, 3  # between ridges; on each; of bar and base
BASE_MM, CLEAR_MM = 4.0, 8.0  # base plate, and air below the bar
SAG = 0.04  # of the span: well above a reading, and small enough for the law
COOLER = 60.0  # below the card's peak, for the second firing [K]


@good
class BridgeBar:
    """The bar that is laid on two ridges [mm, finished]."""

    length_mm: float
    height_mm: float
    sag_mm: float  # expected with the card's r / alpha


@good
class CouponPlan:
    """What is to be printed and measured, for --json."""

    schema: str = "sagger-calibration-plan/1"
    powder: str
    files: tuple[str, ...]
    cubes: int
    bridges: int
    bar_mm: tuple[float, float, float]
    span_mm: float
    sag_expected_mm: float


def planned(material: str, into_folder: Path) -> tuple[CouponPlan, list[str]]:
    """Document and lines of a plan; coupons, order and tables are left in the folder.

    Raises
    ------
    InputError
        If the powder is not sintered, or no binder or furnace on file goes with it.
    """
    powder = cards.load("powder", material, card_folders())
    card = powder.sintering
    if card is None:
        raise InputError("this powder is not sintered", field="POWDER", value=material)
    bar = _bar(powder, card)
    shapes = {
        "cube.stl": blocks.block(CUBE_MM, CUBE_MM, CUBE_MM),
        "bar.stl": _lying(bar),
        "saddle.stl": _saddle(bar),
    }
    files: dict[str, bytes] = {name: stl.binary(shape) for name, shape in shapes.items()}
    files["order.toml"] = toml.text(_order(powder)).encode()
    files["coupons.csv"] = _coupons(bar).encode()
    files["firings.csv"] = _firings(card).encode()
    for name in files:
        if name.endswith(".csv") and (into_folder / name).exists():
            what = "this table may hold readings"
            raise InputError(what, file=str(into_folder / name), remedy="Plan into another folder.")
    for name, content in files.items():
        write_whole(into_folder / name, content)
    document = CouponPlan(
        powder=material,
        files=tuple(sorted(files)),
        cubes=CUBES,
        bridges=BRIDGES,
        bar_mm=(bar.length_mm, BREADTH_MM, bar.height_mm),
        span_mm=SPAN_MM,
        sag_expected_mm=round(bar.sag_mm, 3),
    )
    return document, _lines(powder, card, bar, into_folder)


def _bar(powder: Powder, card: Sintering) -> BridgeBar:
    k = (card.sintered_density.value / card.green_density.value) ** (1 / 3)
    soft = card.capillary_radius.value / card.surface_energy.value
    dense = powder.solid_density.value * g
    law = sag.yielding(card.green_density.value, card.sintered_density.value, dense, soft)
    span = SPAN_MM * k * 1e-3
    height = max(calibration.bar_height(span, SAG, law) / k, 1.5 * powder.least_wall.value)
    height = round(height * 1e4) / 1e4
    share = sag.ON_ENDS.bending * law.bending * span**3 / (height * k) ** 2
    share += sag.ON_ENDS.shear * law.shear * span
    return BridgeBar(length_mm=SPAN_MM + 2 * REST_MM, height_mm=height * 1e3, sag_mm=share * SPAN_MM)


def _lying(bar: BridgeBar) -> Shape:
    return blocks.block(bar.length_mm, BREADTH_MM, bar.height_mm)


def _saddle(bar: BridgeBar) -> Shape:
    """A base with two ridges `SPAN_MM` apart, which shrink as the bar does."""
    x = (0.0, REST_MM, bar.length_mm - REST_MM, bar.length_mm)
    solid = np.array([[True, True], [True, False], [True, True]])
    return blocks.prism(x, (0.0, BASE_MM, BASE_MM + CLEAR_MM), solid, BREADTH_MM)


def _order(powder: Powder) -> Table:
    names: dict[str, str] = {"powder": powder.name}
    asked = {each.atmosphere for each in powder.sintering.programme} if powder.sintering else set()
    for name in cards.names("binder", card_folders()):
        if powder.kind in cards.load("binder", name, card_folders()).fits:
            names.setdefault("binder", name)
    for name in cards.names("furnace", card_folders()):
        if asked <= set(cards.load("furnace", name, card_folders()).atmospheres):
            names.setdefault("furnace", name)
    if len(names) < 3:
        what = "no binder or no furnace on file goes with this powder"
        raise InputError(what, field="POWDER", value=powder.name, remedy="See `sagger cards`.")
    common = {"unit": "mm", "tolerance": "1 %", "orientations": "fixed"}
    parts: list[Plain] = [
        {"name": name, "file": f"{name}.stl", "quantity": number, **common}
        for name, number in (("cube", CUBES), ("bar", BRIDGES), ("saddle", BRIDGES))
    ]
    return {"order": {"name": f"calibration-{powder.name}"}, "cards": {**names}, "part": parts}


def _coupons(bar: BridgeBar) -> str:
    """The table of coupons, one row each, to be filled in."""
    rows = [",".join(coupons.COUPONS)]
    empty = "," * (len(coupons.COUPONS) - 3)
    for number in range(1, CUBES + 1):
        rows.append(f"cube-{number},cube,{'card' if number <= CUBES // 2 else 'cooler'}{empty}")
    rows += [f"bridge-{number},bridge,card{empty}" for number in range(1, BRIDGES + 1)]
    return "\n".join(rows) + "\n"


def _firings(card: Sintering) -> str:
    """The second firing; the card's own needs no row."""
    rows = [",".join(coupons.FIRINGS)]
    for number, stretch in enumerate(card.programme, start=1):
        last = number == len(card.programme)
        target = into(stretch.target - (COOLER if last else 0.0), "degC")
        rows.append(f"cooler,{into(stretch.rate, 'K/min'):g},{target:g},{stretch.hold / 60:g}")
    return "\n".join(rows) + "\n"


def _lines(powder: Powder, card: Sintering, bar: BridgeBar, folder: Path) -> list[str]:
    peak = into(card.programme[-1].target, "degC")
    return [
        f"print: {CUBES} cubes of {CUBE_MM:g} mm, {BRIDGES} bars of {bar.length_mm:g} x {BREADTH_MM:g} x "
        f"{bar.height_mm:.1f} mm, {BRIDGES} saddles; `sagger plan {folder / 'order.toml'} --into out`",
        "mark the machine axes on each cube; measure cubes and bars green: lengths and mass, dry and cured",
        f"firing card: 3 cubes, and each bar on its saddle, {SPAN_MM:g} mm between the ridges with parting "
        "powder; the card's own programme",
        f"firing cooler: 3 cubes, the last peak at {peak - COOLER:.0f} °C instead of {peak:.0f} °C; "
        "write what was run into firings.csv",
        "measure after: cubes along the same axes, mass, density by Archimedes if you can; on each bridge "
        "the sag in the middle and the span between the ridges",
        f"with the card's r/α ({card.capillary_radius.standing}) the bars sag about {bar.sag_mm:.1f} mm",
        f"then: sagger calibrate evaluate {powder.name} --coupons {folder / 'coupons.csv'} "
        f"--firings {folder / 'firings.csv'}",
        "hydrogen, hot furnaces and fine powder can hurt: follow the equipment manuals and local rules",
    ]
