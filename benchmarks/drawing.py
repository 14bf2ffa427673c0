"""What a drawing costs to read and to turn into forms, and how surely a stated bore is found in a mesh.

Every whole cylinder of the public part files beside the project is stated as an engineer would: diameter
rounded to 0.1 mm, a place up to 0.3 mm off, the axis by its letter. It counts as found within 1 um of its
diameter and 5 um of its axis; anything else that comes back is a false face. `draws_s` is the promise of 40
pieces with every line of the drawing, what would raise it included, in a shop by hand and eight furnace runs.
Seconds are of processor time, after compiling; reading holds the process that reads.

    python benchmarks/drawing.py [folder of part files]
"""

import dataclasses
import json
import os
import sys
import time
from pathlib import Path

import numpy as np

from sagger.files import pmi, read_part
from sagger.geometry.surface import lookup, mesh
from sagger.goods.learned import Approved
from sagger.goods.order import Request, Tolerance
from sagger.stations import promise
from sagger.stations.intake.asked_for import asked
from sagger.stations.intake.characteristics import evaluated
from sagger.stations.intake.tied import laid

sys.path.append(str(Path(__file__).parents[1] / "tests"))
import furnace_goods as hand

NAMES = ("nist_ctc_01_asme1_ap242-e1.stp", "nist_ftc_07_asme1_ap242-e2.stp", "featuretype.STEP")
LATERAL_MM, ROUNDED, CLOSE_MM, ASIDE_MM = 0.3, 1, 1e-3, 5e-3


def spent():
    """Processor time of this process and those that it waited for [s]."""
    return sum(os.times()[:4])


def cylinders(part):
    """Whole cylinders of the exact shape: axis, place on it, radius, corners, whether it is a pin."""
    known = []
    for face in part.drawing.faces:
        points = part.shape.vertices[np.unique(part.shape.triangles[part.face_of == face.number])]
        if face.kind != "cylinder" or not face.solid or not len(points):
            continue
        along, at = np.array(face.along) / np.linalg.norm(face.along), np.array(face.at_mm)
        half = next((one for one in known if halves(one, along, at, face.radius_mm, points)), None)
        if half is None:
            known.append([along, at, face.radius_mm, points, face.outward])
        else:
            half[3] = np.vstack([half[3], points])
    return [one for one in known if lookup.turn_spanned(one[3], one[1], one[0]) == 1.0]


def halves(one, along, at, radius, points):
    """Whether these points lie on the same cylinder, at heights that overlap."""
    heights, others = (points - at) @ along, (one[3] - at) @ along
    same_axis = np.linalg.norm(np.cross(one[1] - at, along)) < 1e-3 and abs(abs(one[0] @ along) - 1) < 1e-6
    over = others.min() < heights.max() - 1e-3 and heights.min() < others.max() - 1e-3
    return same_axis and abs(one[2] - radius) < 1e-4 and over


def looked_up(part, rng):
    """How many are found, of how many, and how many false faces come back."""
    found = false = 0
    known = cylinders(part)
    for along, at, radius, points, pin in known:
        heights = (points - at) @ along
        middle = at + along * (heights.min() + heights.max()) / 2
        near = np.round(middle + rng.uniform(-LATERAL_MM, LATERAL_MM, 3), ROUNDED)
        way = np.round(along) if np.abs(along).max() > 0.999 else along
        kind = "pin" if pin else "bore"
        first = next(iter(lookup.rounds(part.shape, kind, round(2 * radius, ROUNDED), near, way)), None)
        if first is not None:
            aside = np.linalg.norm(np.cross(first.at - at, along))
            right = abs(first.diameter - 2 * radius) < CLOSE_MM and aside < ASIDE_MM
            found, false = found + right, false + (not right)
    return int(found), len(known), int(false)


def promised_s(request, body, drawn):
    """Processor time of the promise of a part with its drawing [s]."""
    part = dataclasses.replace(
        hand.part(),
        request=dataclasses.replace(request, quantity=40),
        shape=body,
        extent_mm=tuple(mesh.extent(body)),
        drawing=drawn.drawing,
        asked=drawn.asked,
    )
    greens, cell = (hand.green(part, hand.factors(origin="ledger 1")),), hand.cell()
    fired, order = hand.fire(greens, cell.powder, cell.furnace), hand.order(greens)
    for _ in range(2):  # the first compiles
        start = time.process_time()
        promise.state(order, greens, (hand.build(greens),), fired, cell, Approved())
    return round(time.process_time() - start, 2)


def main(folder):
    """Print one JSON document."""
    rng, totals = np.random.default_rng(0), np.zeros(3, int)
    read_s, forms_s, draws_s = {}, {}, {}
    request = Request(name="", file="", unit="", quantity=1, tolerance=Tolerance(kind="mm", value=0.1))
    for name in NAMES:
        text = (folder / name).read_text("latin-1")
        start = spent()
        pmi.read(text)
        drawing_s, start = spent() - start, spent()
        part = read_part(folder / name)
        read_s[name] = {"drawing": round(drawing_s, 3), "whole": round(spent() - start, 3)}
        start = time.process_time()
        tied = asked(request, part)
        if tied:
            drawn = evaluated(laid(tied, np.eye(3), 1.0), request.tolerance)
            forms_s[name] = round(time.process_time() - start, 3)
            draws_s[name] = promised_s(request, tied.body, drawn)
        totals += looked_up(part, rng)
    document = {"read_s": read_s, "forms_s": forms_s, "draws_s": draws_s}
    counted = dict(zip(("lookup_found", "lookup_of", "false_faces"), map(int, totals), strict=True))
    print(json.dumps(document | counted, indent=1))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[2] / "shared" / "parts")
