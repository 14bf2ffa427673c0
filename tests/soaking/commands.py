"""Every command that writes, as a shop would say it, and the shop in which each of them can be said."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import NamedTuple

import numpy as np
import trimesh

from soaking.shop import ME, Shop, loaded_too

EXAMPLES = Path(__file__).parents[2] / "examples"
ORDER = """[order]
name = "blocks"
start = "2030-01-07T08:00"
[cards]
powder = "steel-316l"
head = "head-400"
lot = "L-0417"
[choices]
layer = "0.5 mm"
[[part]]
file = "block.stl"
unit = "mm"
quantity = {quantity}
tolerance = "1 %"
"""
PROPOSAL = "11"  # the entry that `made` comes to
PASSWORD = "seven grey herons on ice\n"
READS = {  # commands that change nothing: no ledger, no card, no file of the shop
    "check", "layers", "cards", "factors today", "learn label", "judge gauge", "judge dimensions", "blend", "score", "lots closing",
    "lots refresh", "lots show", "trace box", "trace lot", "trace piece", "ledger check", "jobs", "show", "serve",
    "warm", "cell offer", "learn bed",
}  # fmt: skip


class Saying(NamedTuple):
    """A command with its words; `typed` is what it asks for."""

    words: tuple[str, ...]
    typed: str = ""
    empty: bool = False  # said in a home that holds nothing

    @property
    def key(self) -> str:
        """What tells it from others, whatever names and masses it has: the command and its options."""
        return " ".join([self.name, *(word for word in self.words if word.startswith("--"))])

    @property
    def name(self) -> str:
        return " ".join(word for word in self.words[:2] if word.isalpha() and word.islower())


def all_of(n: int = 1) -> tuple[Saying, ...]:
    """Every command that writes; `n` makes names and masses differ from time to time."""
    said = (
        ("plan", "in/second.toml", "--into", "out/second"),
        ("cell", "book", "in/rush.csv", *ME),
        ("cell", "event", "started", "nozzle rings/1", "--at", "2030-01-07T09:00", *ME),
        ("cell", "plan", "--now", "2030-01-07T07:00", *ME),
        ("cell", "promise", "nozzle rings", "2030-01-20T15:00", "--now", "2030-01-07T08:00", *ME),
        ("burnout", "in/burnout.csv", "--powder", "steel-316l", "--keep"),
        ("calibrate", "plan", "steel-316l", "--into", "out/coupons"),
        ("calibrate", "evaluate", "steel-316l", "--coupons", "in/coupons/coupons.csv", "--firings",
         "in/coupons/firings.csv", "--keep"),
        ("bleed", "in/bleed.csv", "--powder", "steel-316l", "--keep"),
        ("ladder", "plan", "--into", "out/ladder"),
        ("ladder", "read", "in/ladder.csv", "--powder", "steel-316l", "--keep"),
        ("ladder", "suction", "in/suction.csv", "--powder", "steel-316l", "--keep"),
        ("ovenrun", "in/oven.csv", "--powder", "steel-316l", "--box", "box-160x65x65", "--oven", "box-oven", "--keep"),
        ("factors", "approve", "steel-316l", "--k", "1.191", "1.193", f"1.22{n % 9}", "--u", "0.002", "0.002", "0.002",
         "--reason", f"coupons {n}", *ME),
        ("factors", "withdraw", "1", "--reason", "a slip", *ME),
        ("learn", "propose", "steel-316l", *ME),
        ("learn", "approve", PROPOSAL, "--reason", "three boxes", *ME),
        ("judge", "lengths", "1 %", "--box", "B1", "--into", "out/judged"),
        ("cell", "show", "--picture", "out/week.svg"),
        ("cell", "show", "--day", "2030-01-09", "--into", "out/day"),
        ("cell", "show", "--calendar", "out/cell.ics", "--zone", "Etc/UTC"),
        ("offer", "1", "--into", "out/offer"),
        ("certificate", "1", "--into", "out/certificate"),
        ("lots", "blend", f"blend {n}", "--of", "L-0417=1 kg", "--of", "M=1 kg", *ME),
        ("lots", "charge", f"box {n}", "--of", "L-0417=2 kg", *ME),
        ("lots", "measure", "in/lot.toml", *ME),
        ("lots", "receive", "in/new-lot.toml", "--mass", f"{20 + n % 9} kg", *ME),
        ("lots", "recover", "B2", f"back {n}", "--recovered", "1.5 kg", "--pieces", "0.4 kg", *ME),
        ("lots", "scrap", "M", "--mass", f"{1 + n % 900} g", *ME),
        ("lots", "sieve", "M", f"sieved {n}", "--passed", "1.9 kg", "--taken", "2 kg", *ME),
        ("book", "box", "B2", "--job", "1", *ME),
        ("book", "run", f"F{n}", "in/run.csv", "--furnace", "metal-batch", *ME),
        ("readings", "enter", "B1", "block 1", "kind=length", "state=green", "axis=x", f"value=24.{n % 9}1 mm", "u=0.01 mm", *ME),
        ("readings", "instrument", f"calliper {n}", "--u", "0.005 mm", *ME),
        ("readings", "load", "in/readings.csv", *ME),
        ("readings", "scan", "in/scan.stl", "B1", "block 2", "--instrument", "scanner", "--unit",
         "mm", *ME),
        ("readings", "void", "1", "--reason", "the wrong piece", *ME),
        ("ledger", "backup", "out/copy.zip"),
        ("ledger", "export", "out/export"),
        ("ledger", "tidy", "--days", "0", "--do"),
        ("ledger", "clock", "--reason", "the clock was ahead", *ME),
        ("people", "close", "Bea"),
    )  # fmt: skip
    more = (
        Saying(("people", "add", "Cleo", "--role", "plan"), typed=PASSWORD * 2),
        Saying(("ledger", "restore", "in/copy.zip"), empty=True),
    )
    return tuple(Saying(words) for words in said) + more


def made(folder: Path, database: str = "") -> Shop:
    """The shop: powder, two planned jobs of one order, booked boxes and a furnace run, readings, a proposal, factors, a
    cell with a plan, accounts, and every table that a command reads."""
    shop = Shop(folder, database)
    _tables(shop)
    for words, typed in _steps():
        ended = shop.say(*words, typed=typed)
        if ended.code:
            raise SystemExit(f"{' '.join(words)}: {ended.code} {ended.said[-600:]}")
        loaded_too(shop)
    return shop


def _steps() -> list[tuple[tuple[str, ...], str]]:
    said = (
        ("factors", "approve", "steel-316l", "--k", "1.19", "1.192", "1.228", "--u", "0.002", "0.002", "0.002", "--reason",
         "first coupons", *ME),
        ("lots", "receive", "in/lot.toml", "--mass", "90 kg", *ME),
        ("lots", "receive", "in/m-lot.toml", "--mass", "90 kg", *ME),
        ("plan", "in/order.toml", "--into", "out/order"),
        ("lots", "charge", "B1", "--of", "L-0417=30 kg", *ME),
        ("lots", "charge", "B2", "--of", "L-0417=30 kg", *ME),
        ("book", "box", "B1", "--job", "1", *ME),
        ("book", "run", "F0", "in/run.csv", "--furnace", "metal-batch", *ME),
        ("readings", "instrument", "scanner", "--u", "0.02 mm", *ME),
        ("readings", "instrument", "calliper", "--u", "0.005 mm", *ME),
        ("readings", "load", "in/first.csv", *ME),
        ("learn", "propose", "steel-316l", *ME),
        ("cell", "book", "in/orders.csv", *ME),
        ("cell", "plan", "--now", "2030-01-07T07:00", *ME),
    )  # fmt: skip
    people = [
        (("people", "add", name, "--role", role), PASSWORD * 2)
        for name, role in (("Ann", "approve"), ("Bea", "plan"))
    ]
    return [*((words, "") for words in said), *people, (("ledger", "backup", "in/copy.zip"), "")]


def _tables(shop: Shop) -> None:
    """All files that commands read."""
    at = shop.folder / "in"
    trimesh.creation.box((20, 12, 8)).export(at / "block.stl")
    trimesh.creation.box((20.02, 12.01, 8.03)).export(at / "scan.stl")
    (at / "order.toml").write_text(ORDER.format(quantity=5))
    (at / "second.toml").write_text(ORDER.format(quantity=2))
    lot = (EXAMPLES / "lot-316l.toml").read_text()
    for path in EXAMPLES.glob("*.csv"):
        shutil.copy(path, at)
    (at / "lot.toml").write_text(lot)
    (at / "m-lot.toml").write_text(lot.replace("L-0417", "M"))
    (at / "new-lot.toml").write_text(lot.replace("L-0417", "N-0500"))
    orders = (EXAMPLES / "cell-orders.csv").read_text()
    (at / "orders.csv").write_text(orders)
    (at / "rush.csv").write_text(
        "order,powder,box,print_h,hands_h,shelves,due\nsample ring,steel-316l,box-160x65x65,7,1,1,2030-01-11T15:00\n"
    )
    (at / "run.csv").write_text(
        "box,piece,tray,place,x_mm,y_mm,z_mm\nB1,block 1,1,front,1,2,3\nB1,block 2,1,back,40,2,3\n"
    )
    (at / "first.csv").write_text(_lengths(("block 1", "block 2", "block 3")))
    (at / "readings.csv").write_text(_lengths(("block 4", "block 5")))
    (at / "burnout.csv").write_text(_burnout())
    (at / "bleed.csv").write_text(_bleed())
    (at / "ladder.csv").write_text(_ladder())
    (at / "suction.csv").write_text(
        "suction_kPa,saturation_percent\n"
        + "".join(f"{p},{100 / (1 + (p / 8) ** 2) ** 0.6:.2f}\n" for p in (0.5, 1, 2, 4, 6, 8, 12, 20, 40))
    )
    (at / "oven.csv").write_text(_oven())
    (at / "coupons").mkdir()
    _coupons(at / "coupons")


def _lengths(pieces: tuple[str, ...]) -> str:
    """Readings of some pieces, three of each length, a little apart."""
    rng = np.random.default_rng(3)
    rows = ["box,piece,kind,state,axis,value,instrument,nominal"]
    for piece in pieces:
        for axis, size in zip("xyz", (20, 12, 8), strict=True):
            rows += [
                f"B1,{piece},length,sintered,{axis},{size * 1.002 + rng.normal(0, 0.01):.4f} mm,calliper,{size} mm"
                for _ in range(3)
            ]
    return "\n".join(rows) + "\n"


def _burnout() -> str:
    rows = ["run,time_min,temperature_degC,mass"]
    energy, frequency = 180e3, 1e12
    for rate in (2, 5, 10):
        kelvin = np.linspace(373, 900, 400)
        time = (kelvin - kelvin[0]) / (rate / 60)
        speed = frequency * np.exp(-energy / 8.314462618 / kelvin)
        left = np.exp(-np.concatenate([[0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(time))]))
        rows += [
            f"{rate} K,{t / 60:.4f},{k - 273.15:.3f},{25 * (1 - 0.021 * (1 - m)):.5f}"
            for t, k, m in zip(time, kelvin, left, strict=True)
        ]
    return "\n".join(rows) + "\n"


def _bleed() -> str:
    rng = np.random.default_rng(5)
    rows = ["nominal_mm,measured_mm,axis"]
    for size in (3, 6, 12, 24):
        for axis, off in (("x", 40.0), ("y", 40.0), ("z", 60.0)):
            rows += [f"{size},{size * 1.002 + (off + rng.normal(0, 3)) / 1e3:.5f},{axis}" for _ in range(3)]
    return "\n".join(rows) + "\n"


def _ladder() -> str:
    from sagger.physics.drops import wetting

    rows = ["part,saturation_percent,nominal_mm,measured_mm,strength_MPa"]
    for share in np.linspace(0.5, 1.1, 7):
        for size in (4, 8, 16):
            length = size * 1.001 + 0.03 + 2e3 * wetting.square_bleed(max(share, 0.8), 0.8, size / 1e3)
            rows.append(f"p,{100 * share:.4g},{size},{length:.5f},{2.0 if share < 0.6 else 6.0}")
    return "\n".join(rows) + "\n"


def _oven() -> str:
    """A core that follows its oven as a body of one time constant does: near enough to be fitted."""
    time = np.linspace(0, 4 * 3600, 100)
    core = 200 - 175 * np.exp(-np.maximum(0, time - 300) / 2600)
    return "\n".join(
        ["time_s,oven_degC,core_degC", *(f"{t:.1f},200,{c:.2f}" for t, c in zip(time, core, strict=True))]
    )


def _coupons(folder: Path) -> None:
    """Cubes that came out of two firings."""
    rows = ["coupon,kind,firing,x_green_mm,y_green_mm,z_green_mm,x_mm,y_mm,z_mm,mass_green_g,mass_g"]
    for number, (firing, ratio) in enumerate((("f1", 0.86), ("f1", 0.861), ("f2", 0.835), ("f2", 0.836))):
        rows.append(
            f"c{number},cube,{firing},18,18,18,{18 * ratio:.4f},{18 * ratio * 0.999:.4f},{18 * ratio * 0.98:.4f},25.5,25.4"
        )
    (folder / "coupons.csv").write_text("\n".join(rows) + "\n")
    (folder / "firings.csv").write_text(
        "firing,rate_K_per_min,target_degC,hold_min\nf1,5,1300,60\nf2,5,1360,90\n"
    )
