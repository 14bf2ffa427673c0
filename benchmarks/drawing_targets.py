"""How far reading, forms and draws of a drawing are from what was set out for them; one JSON document.

Read: the public test cases beside the project, what is read of each against what its text holds. Damaged:
200 mutants of the first case, cut short, 40 bytes lost, 40 bytes wrong, 20 lines lost, by turns. Moved: sizes
and flatness as linear forms against faces really moved by up to 1 mm and fitted again. Denser: the chance of
a line with twice the points on its faces. Settled: standard error of the chance of a piece, two runs with one
seed, and the number to start over eight seeds. Seconds are of processor time.

    python benchmarks/drawing_targets.py [folder of part files]
"""

import dataclasses
import json
import sys
import time
from pathlib import Path

import numpy as np
from drawing import NAMES, hand, spent

from sagger.errors import SaggerError
from sagger.files import pmi, read_part
from sagger.geometry.surface import lookup, mesh
from sagger.goods.learned import Approved
from sagger.goods.order import Request, Tolerance
from sagger.stations import promise
from sagger.stations.intake import face_points
from sagger.stations.intake.asked_for import asked
from sagger.stations.intake.characteristics import evaluated
from sagger.stations.intake.tied import laid

MUTANTS, LOST, LINES = 200, 40, 20
WARP_MM, SEEDS, SURE = 1.0, 8, 0.95
WIDE_MM, HALF_MM = 1.0, 1.6  # of the overall sizes, and of lines: a machining drawing would never be met
REQUEST = Request(name="", file="", unit="", quantity=40, tolerance=Tolerance(kind="mm", value=WIDE_MM))


def counted(text):
    """What is read of a text, and how many dimensions it holds."""
    drawing = pmi.read(text)
    return {
        "dimensions": len(drawing.dimensions),
        "in_text": text.count("DIMENSIONAL_CHARACTERISTIC_REPRESENTATION("),
        "dimensions_tied": sum(bool(size.faces) for size in drawing.dimensions),
        "tolerances": len(drawing.tolerances),
        "tolerances_tied": sum(bool(zone.faces) or zone.whole for zone in drawing.tolerances),
        "datums": len(drawing.datums),
        "datums_tied": sum(bool(one.faces or one.targets) for one in drawing.datums),
    }


def mutants(text):
    """Damaged copies of a text, the same ones every time."""
    rng, lines = np.random.default_rng(1), text.splitlines(keepends=True)
    for number in range(MUTANTS):
        at = int(rng.integers(len(text) - LOST))
        if number % 4 == 0:
            yield text[:at]
        elif number % 4 == 1:
            yield text[:at] + text[at + LOST :]
        elif number % 4 == 2:
            yield text[:at] + "".join(map(chr, rng.integers(32, 127, LOST))) + text[at + LOST :]
        else:
            gone = set(rng.integers(len(lines), size=LINES).tolist())
            yield "".join(line for place, line in enumerate(lines) if place not in gone)


def damaged(text):
    """How mutants end, and the slowest of them."""
    whole = counted(text)["dimensions"]
    ends = {"whole": 0, "in_part": 0, "refused": 0, "crashed": 0}
    slowest = 0.0
    for mutant in mutants(text):
        start = time.process_time()
        try:
            drawing = pmi.read(mutant)
            ends["whole" if len(drawing.dimensions) == whole and not drawing.lost else "in_part"] += 1
        except SaggerError:
            ends["refused"] += 1
        except Exception:  # noqa: BLE001  counted, that is what this is for
            ends["crashed"] += 1
        slowest = max(slowest, time.process_time() - start)
    return ends | {"slowest_s": round(slowest, 3)}


def forms(part, scale=1.0):
    """Faces and linear forms of a part."""
    tied = laid(asked(dataclasses.replace(REQUEST, scale=scale), part), np.eye(3), scale)
    return tied, evaluated(tied, REQUEST.tolerance)


def warped(points, span):
    """Places moved by a smooth field of up to 1 mm over the part."""
    x, y, z = (points / span).T
    field = np.stack([x * y + 0.3 * z**2, 0.5 * x**2 - y * z, x - y + z * x], axis=1)
    return WARP_MM * field / 3


def moved(drawn, span):
    """Worst difference of linear forms from faces moved and fitted again [um], and how many were."""
    worst = {"diameter": 0.0, "two_point": 0.0, "flatness": 0.0}
    count = dict.fromkeys(worst, 0)
    for one in drawn.asked:
        if one.line > len(drawn.drawing.dimensions) and one.rule != "range":
            continue
        by = warped(one.points, span)
        linear = one.weights @ np.einsum("nc,nc->n", one.normals, by)
        name, exact = refitted(drawn, one, one.points + by)
        if name:
            worst[name] = max(worst[name], float(np.abs(exact - linear[: len(exact)]).max()) * 1e3)
            count[name] += 1
    return {name: [round(worst[name], 3), count[name]] for name in worst}


def refitted(drawn, one, places):
    """Name of the form, and its value by moved points; "" for forms that are not compared here."""
    asked_of = (*drawn.drawing.dimensions, *drawn.drawing.tolerances)[one.line - 1]
    if asked_of.kind == "diameter" and len(one.weights) > 1:
        pairs = [np.flatnonzero(row) for row in one.weights]
        return "two_point", np.array(
            [np.linalg.norm(places[a] - places[b]) - np.linalg.norm(one.points[a] - one.points[b])
             for a, b in pairs]
        )  # fmt: skip
    if asked_of.kind == "diameter":
        face = next(face for face in drawn.drawing.faces if face.number == int(one.faces[0]))
        start = np.asarray(face.at_mm), np.asarray(face.along) / np.linalg.norm(face.along), face.radius_mm
        before, after = (lookup.cylinder(points, *start)[2] for points in (one.points, places))
        return "diameter", np.array([2 * (after - before)])
    if asked_of.kind == "flatness":
        off = places - places.mean(axis=0)
        normal = np.linalg.svd(off, full_matrices=False)[2][2]
        normal = normal * np.sign(normal @ one.normals[0])
        return "flatness", off @ normal
    return "", np.zeros(0)


def promised(tied, drawn, seed=1, tolerance_mm=None):
    """The promise of 40 pieces in a shop by hand; limits of lines widened if a half width is given."""
    asked_lines = drawn.asked
    if tolerance_mm is not None:
        asked_lines = tuple(_wider(one, tolerance_mm) for one in asked_lines)
    part = dataclasses.replace(
        hand.part(), request=REQUEST, shape=tied.body, extent_mm=tuple(mesh.extent(tied.body)),
        drawing=drawn.drawing, asked=asked_lines,
    )  # fmt: skip
    greens, cell = (hand.green(part, hand.factors(origin="ledger 1")),), hand.cell()
    fired, order = hand.fire(greens, cell.powder, cell.furnace), hand.order(greens)
    order = dataclasses.replace(order, choices=dataclasses.replace(order.choices, seed=seed), good=SURE)
    return promise.state(order, greens, (hand.build(greens),), fired, cell, Approved())


def _wider(one, half):
    low = one.nominal - half if one.rule in ("each", "least", "most") else 0.0
    return dataclasses.replace(one, lower=low, upper=one.nominal + half)


def denser(part, half):
    """Largest change of a line's chance with twice the points."""
    usual = {name: getattr(face_points, name) for name in ("SPREAD", "RING", "RINGS", "WHOLE")}
    before = promised(*forms(part), tolerance_mm=half)
    for name, value in usual.items():
        setattr(face_points, name, 2 * value)
    after = promised(*forms(part), tolerance_mm=half)
    for name, value in usual.items():
        setattr(face_points, name, value)
    pairs = zip(before.lines, after.lines, strict=True)
    return round(max(abs(one.chance - other.chance) for one, other in pairs), 4)


def settled(part, half):
    """Standard error, whether one seed gives one promise, and numbers to start over seeds."""
    known = forms(part)
    runs = [promised(*known, seed=seed, tolerance_mm=half).pieces[0] for seed in range(1, SEEDS + 1)]
    again = promised(*known, seed=1, tolerance_mm=half).pieces[0]
    return {
        "chance": round(runs[0].chance, 4),
        "chance_u": round(runs[0].chance_u, 4),
        "chance_sd_over_seeds": round(float(np.std([run.chance for run in runs], ddof=1)), 4),
        "same_to_the_bit": bool(again.chance == runs[0].chance and again.least == runs[0].least),
        "least": sorted(run.least or 0 for run in runs),
    }


def main(folder):
    """Print one JSON document."""
    document = {"read": {}, "read_s": {}, "moved_um": {}, "denser": {}}
    for name in NAMES:
        text = (folder / name).read_text("latin-1")
        start = spent()
        document["read"][name] = counted(text)
        reading, start = spent() - start, spent()
        part = read_part(folder / name)
        document["read_s"][name] = [round(reading, 3), round(spent() - start, 3)]
        if document["read"][name]["dimensions"]:
            tied, drawn = forms(part)
            document["moved_um"][name] = moved(drawn, float(np.ptp(tied.body.vertices, axis=0).max()))
    first = read_part(folder / NAMES[0])
    document["damaged"] = damaged((folder / NAMES[0]).read_text("latin-1"))
    document["denser"][NAMES[0]] = denser(first, HALF_MM)
    document["settled"] = settled(first, HALF_MM)
    print(json.dumps(document, indent=1))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[2] / "shared" / "parts")
