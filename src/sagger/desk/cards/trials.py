"""Trials of binder on powder: a ladder of saturations laid out, and what coupons say, as lines for a card."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import numpy as np

from sagger import cards
from sagger.desk.cards import own_cards
from sagger.desk.cards.own_cards import CardFigure
from sagger.desk.home import card_folders
from sagger.errors import InputError, LotError
from sagger.files import measured
from sagger.goods.good import good
from sagger.physics.drops import coupon_fits, pass_clock, wetting

SURE = 0.05  # chance above which a bleed is not told from none; common practice, no source
SIDES = {"bleed": 2, "bleed_depth": 1}
PATIENT = "Coupons of one build share its powder and its day; repeat on another lot before you trust them."


class BleedFit(NamedTuple):
    """What coupons say of one direction."""

    reach_um: float
    reach_u_um: float
    scale_percent: float
    scale_u_percent: float
    p: float
    coupons: int
    told_from_none: bool


@good
class BleedDocument:
    """What coupons say of bleed, for --json."""

    schema: str = "sagger-bleed/1"
    fits: Mapping[str, BleedFit]  # bleed, bleed_depth


@good
class LadderDocument:
    """What a ladder of saturations says, for --json."""

    schema: str = "sagger-ladder/1"
    held_saturation_percent: float | None  # None: no surplus was seen
    held_saturation_u_percent: float
    reach_um: float
    scale_percent: float
    scatter_um: float
    least_saturation_percent: (
        float | None
    )  # from which on coupons are strong enough; None: none, or not asked


@good
class SuctionDocument:
    """Constants of a suction curve [SI], for --json."""

    schema: str = "sagger-suction/1"
    entry: float
    exponent: float
    residual: float
    entry_u: float
    exponent_u: float
    residual_u: float


@good
class LadderInput:
    """Which rungs to lay out, with which cards ("" = the order's default)."""

    powder: str
    binder: str = ""
    head: str
    box: str = ""
    least: float  # saturation of the first rung [-]
    most: float  # of the last
    rungs: int


@good
class RungsDocument:
    """Saturations that were laid out, for --json."""

    schema: str = "sagger-rungs/1"
    saturation_percent: tuple[float, ...]


def bleed(table: Path, powder: str) -> tuple[BleedDocument, list[str]]:
    """What coupons of several sizes say of bleed in the plane and in height.

    Parameters
    ----------
    table : Path
        CSV with nominal_mm and measured_mm, and if wanted axis (x, y or z).
    powder : str
        Card that the fitted figures are written to, among the shop's own; "" writes none.

    Raises
    ------
    LotError, LawError
        If the table is refused, or says too little.
    """
    columns = measured.table(table, ("nominal_mm", "measured_mm"), ("axis",))
    nominal, read = (measured.numbers(table, columns, name, "mm") for name in ("nominal_mm", "measured_mm"))
    axes = np.array(columns.get("axis", ["x"] * len(nominal)))
    if set(axes) - {"x", "y", "z"}:
        what = "an axis is x, y or z"
        raise LotError(what, file=table.name, field="axis", value=sorted(set(axes) - {"x", "y", "z"}))
    fits: dict[str, BleedFit] = {}
    lines, figures = [], {}
    for name, here in (("bleed", axes != "z"), ("bleed_depth", axes == "z")):
        if not here.any():
            continue
        fit = coupon_fits.bleed(nominal[here], read[here], SIDES[name])
        sure = fit.reach > 0 and fit.p < SURE
        fits[name] = _micro(fit, int(here.sum()), bool(sure))
        lines += _bleed_lines(name, fit, int(here.sum()), sure)
        if sure:
            figures[name] = _figure(fit.reach * 1e6, fit.reach_u * 1e6, "um", int(here.sum()), table)
    return BleedDocument(fits=fits), [*lines, *_written(powder, figures), PATIENT]


def kept_on(powder: str, keep: bool) -> str:
    """The card to write to, "" for none; `InputError` if it is to be kept and no card is named."""
    if keep and not powder:
        raise InputError(
            "no powder card is named", field="--powder", remedy="Say which one the coupons are of."
        )
    return powder if keep else ""


def _micro(fit: coupon_fits.Bleed, count: int, sure: bool) -> BleedFit:
    sizes = (fit.reach * 1e6, fit.reach_u * 1e6, fit.scale * 100, fit.scale_u * 100)
    return BleedFit(*sizes, fit.p, count, sure)


def _bleed_lines(name: str, fit: coupon_fits.Bleed, count: int, sure: bool) -> list[str]:
    where = "in the plane" if name == "bleed" else "below undersides"
    line = (
        f"{name}, {where}: {fit.reach * 1e6:.1f} µm (u {fit.reach_u * 1e6:.1f}) from {count} coupons; "
        f"scale {fit.scale:+.3%} (u {fit.scale_u:.3%}), p {fit.p:.2g}"
    )
    if not sure:
        return [line, f"  no {name} is told from none; nothing to compensate, or print more sizes"]
    return [line, f'  in an order: {"bleed" if name == "bleed" else "depth"} = "{fit.reach * 1e6:.0f} um"']


def ladder(table: Path, powder: str, least_mpa: float | None = None) -> tuple[LadderDocument, list[str]]:
    """What a ladder of coupons says: saturation the bed holds, bleed below it, least for a strength.

    Parameters
    ----------
    table : Path
        CSV with saturation_percent, nominal_mm, measured_mm, and if wanted strength_MPa.
    powder : str
        As for `bleed`.
    least_mpa : float, optional
        Green strength that is needed [MPa].
    """
    names = ("saturation_percent", "nominal_mm", "measured_mm")
    columns = measured.table(table, names, ("strength_MPa",))
    s, nominal, read = (
        measured.numbers(table, columns, name, unit)
        for name, unit in zip(names, ("%", "mm", "mm"), strict=True)
    )
    fit = coupon_fits.held(s, nominal, read)
    figures, lines = {}, [f"below: bleed {fit.reach * 1e6:.1f} µm, scatter {fit.scatter * 1e6:.1f} µm"]
    if fit.saturation is None:
        lines.insert(0, f"no surplus seen up to {s.max():.0%}; the bed holds at least that")
    else:
        lines.insert(0, f"the bed holds {fit.saturation:.1%} (u {fit.u:.1%}); above, outlines creep")
        figures["held_saturation"] = _figure(100 * fit.saturation, 100 * fit.u, "%", len(s), table)
    strong_from = None
    if "strength_MPa" in columns and least_mpa is not None:
        strong_from, line = _strong(s, measured.numbers(table, columns, "strength_MPa"), least_mpa)
        lines.append(line)
    document = LadderDocument(
        held_saturation_percent=None if fit.saturation is None else 100 * fit.saturation,
        held_saturation_u_percent=100 * fit.u,
        reach_um=fit.reach * 1e6,
        scale_percent=fit.scale * 100,
        scatter_um=fit.scatter * 1e6,
        least_saturation_percent=strong_from,
    )
    return document, [*lines, *_written(powder, figures), PATIENT]


def _strong(s: np.ndarray, strength: np.ndarray, least: float) -> tuple[float | None, str]:
    """Lowest rung from which on every coupon is strong enough, and the line that says it."""
    rungs = np.unique(s)
    good = [bool((strength[s == rung] >= least).all()) for rung in rungs]
    from_here = [rung for at, rung in enumerate(rungs) if all(good[at:])]
    if not from_here:
        return None, f"no rung from which on all coupons bear {least:g} MPa"
    return 100 * float(from_here[0]), f"from {from_here[0]:.0%} on, all coupons bear {least:g} MPa"


def suction(table: Path, powder: str) -> tuple[SuctionDocument, list[str]]:
    """Constants of the suction curve in a table with suction_kPa and saturation_percent."""
    columns = measured.table(table, ("suction_kPa", "saturation_percent"))
    fit = coupon_fits.suction(
        measured.numbers(table, columns, "suction_kPa", "kPa"),
        measured.numbers(table, columns, "saturation_percent", "%"),
    )
    count = len(columns["line"])
    figures = {
        "entry_pressure": _figure(fit.entry / 1e3, fit.entry_u / 1e3, "kPa", count, table),
        "pore_exponent": _figure(fit.exponent, fit.exponent_u, "-", count, table),
        "residual_saturation": _figure(100 * fit.residual, 100 * fit.residual_u, "%", count, table),
    }
    lines = [f"{name.replace('_', ' ')} {figure.value} (u {figure.u})" for name, figure in figures.items()]
    return SuctionDocument(**fit._asdict()), [*lines, *_written(powder, figures)]


def _figure(value: float, u: float, unit: str, count: int, table: Path) -> CardFigure:
    return CardFigure(
        f"{value:.4g} {unit}", "worked", f"fit of {count} points in {table.name}", u=f"{u:.2g} {unit}"
    )


def _written(powder: str, figures: dict[str, CardFigure]) -> list[str]:
    """Where the figures went, or the lines to put on the card."""
    if not figures:
        return []
    if powder:
        path = own_cards.put("powder", powder, figures)
        return [f"kept on {path}; the next job in {powder} uses it"]
    lines = ["on the powder card:"]
    for name, figure in figures.items():
        lines += [
            f"  [{name}]",
            *(f'  {part} = "{text}"' for part, text in own_cards.written(figure).items()),
        ]
    return lines


def rungs(into: Path, asked: LadderInput) -> tuple[RungsDocument, list[str]]:
    """A ladder laid out: an order with square coupons of three sizes on every rung, and an empty table.

    Raises
    ------
    InputError
        If the rungs make no sense, or the head cannot print the richest.
    """
    least, most = asked.least, asked.most
    if not 0 < least < most <= 2 or not 3 <= asked.rungs <= 15:
        what, remedy = "rungs rise from above 0 to 200 % at most, in 3 to 15 steps", "Try 50 to 110 % in 7."
        raise InputError(what, value=f"{least:.0%} to {most:.0%} in {asked.rungs}", remedy=remedy)
    material = cards.load("powder", asked.powder, card_folders())
    jets = cards.load("head", asked.head, card_folders())
    lattice = tuple(pass_clock.pitch(each.value) for each in (jets.resolution_x, jets.resolution_y))
    reach = wetting.saturation(
        jets.drop_most.value, (lattice[0], lattice[1]), material.layer.value, material.packing.value
    )
    if most > reach * (1 + 1e-9):
        remedy = f"Stop at {reach:.0%}, or choose a finer lattice."
        raise InputError("the head's largest drop prints less", value=f"{most:.0%}", remedy=remedy)
    shares = np.linspace(least, most, asked.rungs)
    _lay_out(into, asked, shares)
    lines = [
        f"rung {n}: {share:.1%} saturation, {share / most:.1%} of the drops"
        for n, share in enumerate(shares, 1)
    ]
    lines.append(
        f"{into / 'order.toml'} and {into / 'readings.csv'}: plan, print, fill in, `sagger ladder read`"
    )
    return RungsDocument(saturation_percent=tuple(100 * float(share) for share in shares)), lines


SIZES_MM = (4, 8, 16)
HEIGHT_MM = 6


def _lay_out(into: Path, asked: LadderInput, shares: np.ndarray) -> None:
    import trimesh

    into.mkdir(parents=True, exist_ok=True)
    most = asked.most
    names = {"powder": asked.powder, "binder": asked.binder, "head": asked.head, "box": asked.box}
    text = ["[order]", 'name = "saturation-ladder"', "", "[cards]"]
    text += [f'{kind} = "{name}"' for kind, name in names.items() if name]
    text += ["", "[choices]", f'saturation = "{100 * most:.6g} %"', 'bleed = "0 um"', 'depth = "0 um"']
    rows = ["part,saturation_percent,nominal_mm,measured_mm"]
    for size in SIZES_MM:
        trimesh.creation.box((size, size, HEIGHT_MM)).export(into / f"square-{size}.stl")
        for rung, share in enumerate(shares, start=1):
            name = f"rung {rung}, {size} mm"
            text += ["", "[[part]]", f'name = "{name}"', f'file = "square-{size}.stl"', 'unit = "mm"']
            text += ["quantity = 1", 'tolerance = "2 %"', 'orientations = "fixed"', 'skin = "0 mm"']
            text.append(f'core_saturation = "{100 * share / most:.6g} %"')
            rows.append(f'"{name}",{100 * share:.6g},,')
    (into / "order.toml").write_text("\n".join(text) + "\n", encoding="utf-8")
    (into / "readings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
