"""Five boxes of an invented shop, from powder lots to approved factors; everything measured is made up.

    python examples/campaign.py --into out/campaign          # the whole story, some minutes
    python examples/campaign.py --into out/campaign --pictures docs

The printer, the furnace and the calliper are those of invented_shop.py, where the truth is known. The rest is
what a shop would do: receive powder, charge a box, plan an order with coupons, book what was printed and
fired, enter readings, learn, approve. Same seed, same story.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import shutil
import sys
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from invented_shop import HOT, PLACES, Shop, Truth, reading

PARTS = Path(__file__).parent / "parts"
POWDER, BOX = "steel-316l", "box-400x250x250"
PERSON = "A. Person"
LEVER = np.array([70.0, 22.0, 14.0])  # overall size of the pump lever [mm]
STEPS = ((12.0, 20.0, 28.0), (12.0, 20.0, 28.0), (6.0, 12.0, 18.0))
TOLERANCE = "0.2 mm"
CHARGE = 60.0  # powder put into a box and its feed [kg]
U = 8e-6  # of a calliper reading [m]


@dataclasses.dataclass(frozen=True)
class Plot:
    """How long the story is."""

    lots: tuple[str, ...] = ("A-01", "A-01", "B-02", "B-02", "C-03")  # of each box
    levers: int = 24
    layer_um: int = 100
    seed: int = 11
    learn_after: tuple[int, ...] = (2, 4)
    by_place_from: int = 3
    hot_free_from: int = 5  # from this box on no lever stands in the hot corner


@dataclasses.dataclass
class Story:
    plot: Plot
    folder: Path
    shop: Shop
    bleed_um: int = 0
    boxes: list[dict[str, Any]] = dataclasses.field(default_factory=list)
    told: list[str] = dataclasses.field(default_factory=list)

    def say(self, *lines: str) -> None:
        for line in lines:
            self.told.append(line)
            print(line, flush=True)


def run(into: Path, plot: Plot) -> Story:
    """The whole story; its ledger and plans lie in `into`."""
    into.mkdir(parents=True, exist_ok=True)
    os.environ["SAGGER_HOME"] = str(into / "home")
    from sagger.desk.measuring import learning
    from sagger.desk.powder import lots

    story = Story(plot, into, Shop(Truth(), plot.seed))
    for name in dict.fromkeys(plot.lots):
        story.say(lots.receive(lot_file(into, name), "200 kg", step("bought")))
    for number, lot in enumerate(plot.lots, start=1):
        print_box(story, number, lot)
        if number in plot.learn_after:
            document, lines = learning.propose(POWDER, BOX, (), PERSON)
            story.say(*lines)
            story.say(learning.approve(document.entry, PERSON, f"coupons and levers of boxes 1 to {number}"))
            offsets = [axis.offset_mm * axis.found / 2e-3 for axis in document.axes[:2]]
            if all(offsets):
                story.bleed_um = round(float(np.mean(offsets)))
    return story


def step(note: str) -> Any:
    from sagger.ledger.lots import Mover

    return Mover(person=PERSON, note=note)


def lot_file(into: Path, name: str) -> Path:
    """A lot as it arrives: a size curve by laser, apparent and tap density."""
    shift = {"A": 1.0, "B": 1.02, "C": 0.97}.get(name[0], 1.0)
    sizes = [round(size * shift, 2) for size in (4, 8, 11, 16, 22, 32, 45)]
    rows = zip(sizes, (1, 10, 25, 50, 73, 90, 100), strict=True)
    curve = "size_um,finer_percent\n" + "".join(f"{size},{finer}\n" for size, finer in rows)
    (into / f"{name}.csv").write_text(curve)
    path = into / f"{name}.toml"
    path.write_text(
        f'name = "{name}"\npowder = "{POWDER}"\norigin = "received"\nexposures = [1.0]\n'
        f'[curve]\nmethod = "laser diffraction"\nfile = "{name}.csv"\n'
        + density("apparent_density", 4.05 * shift**0.1)
        + density("tap_density", 4.85 * shift**0.1)
    )
    return path


def density(name: str, value: float) -> str:
    where = 'source = "incoming inspection"\nwhere = "invented"\nstanding = "measured"\n'
    return f'[{name}]\nvalue = "{value:.2f} g/cm3"\nu = "0.03 g/cm3"\n{where}'


def print_box(story: Story, number: int, lot: str) -> None:
    """Charge, plan, print, fire and measure one box."""
    from sagger.desk.planning import plan
    from sagger.desk.powder import lots

    name, again = f"B{number}", number > 1 and lot == story.plot.lots[number - 2]
    used, refresh = 0.8 * CHARGE, 0.2 * CHARGE
    sources = [f"{lot}-used={used} kg", f"{lot}={refresh} kg"] if again else [f"{lot}={CHARGE} kg"]
    story.say(lots.charge(name, sources, step("used powder, refreshed" if again else "virgin powder")))
    outcome = plan.plan(order(story, number), story.folder / f"plan-{number}")
    document: dict[str, Any] = json.loads((story.folder / f"plan-{number}" / "plan.json").read_text("utf-8"))
    pieces = sum(box["powder"]["in_pieces_kg"] for box in document["boxes"])
    masses = {
        "recovered": f"{CHARGE - pieces - 0.4:.3f} kg",
        "pieces": f"{pieces:.3f} kg",
        "oversize": "0.05 kg",
    }
    into = f"{lot}-used-{number}" if again else f"{lot}-used"
    story.say(lots.recover(name, into, masses, None, step("emptied")))
    measured = fire_and_read(story, number, lot, document, outcome.job)
    story.boxes.append(measured)
    off, rms = measured["levers"][:, 0], float(np.sqrt(np.mean(measured["levers"] ** 2)))
    story.say(
        f"box {number}: lever length off by {off.mean():+.3f} mm on average, s {off.std(ddof=1):.3f} mm; "
        f"root mean square over all sizes {rms:.3f} mm; promised for x {measured['promised']:.1f} %, "
        f"found inside {100 * np.mean(np.abs(off) <= 0.2):.1f} %"
    )


def order(story: Story, number: int) -> Path:
    """Nine step coupons at fixed places, and levers."""
    by_place = str(number >= story.plot.by_place_from).lower()
    shutil.copy(PARTS / "pump-lever.stl", story.folder)
    path = story.folder / f"order-{number}.toml"
    path.write_text(
        f"""[order]
name = "levers, box {number}"
shop = "an invented shop"
start = "2030-01-{number + 6:02d}T08:00"
[cards]
powder = "{POWDER}"
box = "{BOX}"
head = "head-400"
[choices]
layer = "{story.plot.layer_um} um"
bleed = "{story.bleed_um} um"
by_place = {by_place}
[[coupon]]
kind = "steps"
places = "nine"
series = {number}
[[part]]
name = "pump lever"
file = "pump-lever.stl"
unit = "mm"
quantity = {story.plot.levers}
tolerance = "{TOLERANCE}"
orientations = "upright"
"""
    )
    return path


def fire_and_read(story: Story, number: int, lot: str, document: dict[str, Any], job: int) -> dict[str, Any]:
    """Book what was printed and fired; measure every coupon and lever with the invented calliper."""
    from sagger.desk.home import ledger
    from sagger.desk.measuring import book as desk_book
    from sagger.goods.booked import FiredPiece, FurnaceRun
    from sagger.ledger import boxes, readings

    book, box, load = ledger(), f"B{number}", f"run {number}"
    printed = [(piece, *middle(piece, document)) for piece in document["pieces"]]
    desk_book.box(box, job, 1, step("printed"))
    places = [place(story, number, n, coupon) for n, (_, _, coupon) in enumerate(printed)]
    stood = tuple(
        FiredPiece(box=box, piece=label(piece), place=where)
        for (piece, _, _), where in zip(printed, places, strict=True)
    )
    boxes.fire(book, FurnaceRun(name=load, furnace="metal-batch", pieces=stood), PERSON)
    found, levers, at_mm = [], [], []
    for (piece, at, coupon), where in zip(printed, places, strict=True):
        k = np.linalg.norm(np.array(piece["placement"])[:3, :3], axis=1)
        sizes = STEPS if coupon else tuple((size,) for size in along(piece))
        off = []
        for axis in range(3):
            nominal = np.array(sizes[axis])
            crept = story.shop.truth.creep_mm - story.bleed_um / 1e3
            values = story.shop.read(
                story.shop.lengths(axis, nominal * k[axis], np.array(at), lot, where, crept)
            )
            off.append(float(values[-1] - nominal[-1]))
            for size, value in zip(nominal.tolist(), values.tolist(), strict=True):
                feature = f"step {size:g}" if coupon else "overall"
                facts = {"box": box, "piece": label(piece), "part": piece["name"], "feature": feature, "u": U}
                found.append(reading(axis, value, size, lot=lot, instrument="calliper 1", **facts))
        if not coupon:
            turned = np.argsort(np.argsort(-along(piece)))  # machine axes back to the lever's own
            levers.append([off[int(np.flatnonzero(turned == n)[0])] for n in range(3)])
            at_mm.append(at)
    readings.add(book, found, PERSON, f"box {number}")
    promises = document["quote"]["promises"]
    promised = next(each["chance_percent"] for each in promises if each["dimension"] == "x")
    best = next((each["without"][0] for each in promises if each["dimension"] == "x"), None)
    return {
        "levers": np.array(levers),
        "at_mm": np.array(at_mm),
        "promised": promised,
        "raise": best,
        "lot": lot,
    }


def label(piece: dict[str, Any]) -> str:
    return piece["name"] if piece["name"].startswith("steps") else f"{piece['name']} {piece['number']}"


def middle(piece: dict[str, Any], document: dict[str, Any]) -> tuple[tuple[float, float, float], bool]:
    """Middle of a piece in the box [mm], and whether it is a coupon."""
    part = document["parts"][piece["part"]]
    coupon = bool(part["held"])
    hub = np.array([24.0, 0.0, 7.0])  # from the lever's origin to its middle
    nominal = np.array(part["extent_mm"]) / 2 if coupon else hub
    at = np.array(piece["placement"]) @ np.append(nominal, 1.0)
    return (float(at[0]), float(at[1]), float(at[2])), coupon


def along(piece: dict[str, Any]) -> np.ndarray:
    """A lever's overall sizes along the machine's axes [mm]."""
    turn = np.array(piece["placement"])[:3, :3]
    return np.asarray(np.abs(turn / np.linalg.norm(turn, axis=1, keepdims=True)).round() @ LEVER)


def place(story: Story, number: int, piece: int, coupon: bool) -> str:
    """Where a piece stands in the furnace: by turns; in the end levers keep out of the hot corner."""
    free = number >= story.plot.hot_free_from and not coupon
    open_to = [name for name in PLACES if not (free and name == HOT)]
    return open_to[(piece + number) % len(open_to)]


def summed_up(story: Story) -> dict[str, Any]:
    """What the campaign came to."""
    first, last = story.boxes[0]["levers"], story.boxes[-1]["levers"]
    return {
        "first_rms_mm": float(np.sqrt(np.mean(first**2))),
        "last_rms_mm": float(np.sqrt(np.mean(last**2))),
        "first_inside_percent": float(100 * np.mean(np.abs(first) <= 0.2)),
        "last_inside_percent": float(100 * np.mean(np.abs(last) <= 0.2)),
        "promised_percent": [box["promised"] for box in story.boxes],
        "bleed_um": story.bleed_um,
    }


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--into", type=Path, required=True, help="folder for ledger and plans; must be new")
    asked.add_argument("--pictures", type=Path, help="docs folder whose campaign pictures are to be drawn")
    said = asked.parse_args()
    if (said.into / "home").exists():
        sys.exit(f"{said.into} holds a campaign already; give a new folder")
    story = run(said.into.resolve(), Plot())
    print(json.dumps(summed_up(story), indent=1))
    if said.pictures:
        from campaign_pictures import draw

        draw(story, said.pictures)


if __name__ == "__main__":
    main()
