"""A block with a drawing, in a job of a ledger: two bores of one line, outsides, a step, form and place."""

import dataclasses
import json
import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import trimesh

from job_goods import a_job
from sagger.desk.home import ledger
from sagger.files import order_stated
from sagger.goods.booked import BookedBox, BookedPiece, FiredPiece, FurnaceRun, PrintedFrom
from sagger.goods.order import Choices, Tolerance
from sagger.goods.promised import LinePromise
from sagger.goods.reading import Instrument
from sagger.goods.stated import StatedDatum, StatedLine
from sagger.ledger import bodies, boxes, jobs, readings
from sagger.stations import intake
from sagger.views import plan as plan_view

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parent / "part_shapes.py")))
SOLID = manifold3d.Manifold
WHO = "A. Person"
LEFT, RIGHT = "plane at 0, 5, 5 facing -x", "plane at 40, 5, 5 facing x"
FRONT, BACK = "plane at 5, 0, 5 facing -y", "plane at 5, 30, 5 facing y"
BOTTOM, TOP, STEP = "plane at 5, 5, 0 facing -z", "plane at 5, 5, 12 facing z", "plane at 30, 22, 16 facing z"
BORES = ("bore 8 mm at 10, 20, 5 along z", "bore 8 mm at 10, 8, 5 along z")
PIN = "pin 10 mm at 30, 22, 14 along z"


def line(what, of, limit, to=(), **more):
    ends = tuple(order_stated.face_or_name(end) for end in to)
    face, name = order_stated.face_or_name(of), more.pop("name", "")
    return StatedLine(
        name=name, what=what, of=face, to=ends, limit=order_stated.limit(limit, what), **more
    )  # fmt: skip


LINES = (
    line("diameter", BORES[0], "±0.1 mm"),
    line("diameter", BORES[1], "±0.1 mm"),
    line("diameter", PIN, "±0.1 mm", name="seat"),
    line("distance", LEFT, "±0.2 mm", to=[RIGHT], name="length"),
    line("distance", FRONT, "±0.2 mm", to=[BACK], name="width"),
    line("thickness", TOP, "+0.2 mm 0 mm", to=[BOTTOM]),
    line("distance", TOP, "±0.1 mm", to=[STEP], name="step"),
    line("flatness", TOP, "0.1 mm"),
    line("position", BORES[0], "0.3 mm", to=["A", "B"], zone="round", material="most"),
    line("angle", LEFT, "±0.5 deg", to=[BACK]),
)
NUMBERS = ["1", "1.1", "1.2", "2", "3", "4", "5", "6", "7", "8", "9"]


def block(lines=LINES):
    """Bores are line 1; then pin, length, width, thickness, step, angle; flatness and position are 8, 9."""
    body = SOLID.cube((40, 30, 12))
    for y in (20, 8):
        body -= SOLID.cylinder(20, 4, 4, 64).translate((10, y, -4))
    body += SOLID.cylinder(5, 5, 5, 96).translate((30, 22, 11))
    datums = tuple(
        StatedDatum(name=name, face=order_stated.face_or_name(face))
        for name, face in (("A", BOTTOM), ("B", LEFT))
    )
    request = dataclasses.replace(
        shapes.request(), name="housing", dimensions=lines, datums=datums,
        tolerance=Tolerance(kind="mm", value=0.5),
    )  # fmt: skip
    looked = intake.check(request, shapes.file(shapes.of(body)), shapes.cell(), Choices())
    return _one_line(looked)


def _one_line(part):
    """Its first two lines, which ask the same of two bores, as one."""
    first, second, *rest = part.drawing.dimensions
    sizes = (dataclasses.replace(first, faces=(*first.faces, *second.faces)), *rest)
    drawing = dataclasses.replace(part.drawing, dimensions=sizes)
    asked = tuple(dataclasses.replace(one, line=max(1, one.line - 1)) for one in part.asked)
    return dataclasses.replace(part, drawing=drawing, asked=asked)


def planned(part, quantity=3):
    """A job of such parts, its plan and layout in the ledger that SAGGER_HOME names; its number."""
    job = a_job((trimesh.Trimesh(part.shape.vertices, part.shape.triangles, process=False),), quantity)
    request = dataclasses.replace(part.request, quantity=quantity, name="housing")
    own = dataclasses.replace(part, request=request)
    order = dataclasses.replace(job.order, requests=(request,), customer="Harrow Valves (invented)")
    promised = dataclasses.replace(job.promised, lines=tuple(_promises(part)))
    job = dataclasses.replace(job, order=order, parts=(own,), promised=promised)
    book = ledger()
    folder = str(book.folder / "out")
    number = jobs.begin(book, jobs.Beginning("blocks", f"d{quantity}", folder, "0", "2030-01-07T08:00"))
    document = json.dumps(plan_view.document(job, (), (), {}, "0"))
    jobs.end(book, number, "done", plan_digest=bodies.put(book, document))
    return number


def _promises(part):
    numbers = [one.line for one in part.asked]
    for one in {one.line: one for one in part.asked}.values():
        yield LinePromise(
            part=0, line=one.line, what="", features=numbers.count(one.line), unit=one.unit,
            nominal=one.nominal, lower=one.lower, upper=one.upper, expected=one.nominal, u=0.01, shares=(),
            operator=one.operator, chance=0.9, passed=0.9, alone=0.0, stock_mm=None,
        )  # fmt: skip


def booked(job, box="B1", count=3, lot="L-9"):
    """Pieces of the job in a box and through the furnace."""
    book = ledger()
    pieces = tuple(BookedPiece(label=f"housing {n}", part="housing", number=n) for n in range(1, count + 1))
    boxes.book(book, BookedBox(name=box, powder="steel", pieces=pieces, job=job, facts=PrintedFrom()), WHO)
    stood = tuple(FiredPiece(box=box, piece=each.label) for each in pieces)
    boxes.fire(book, FurnaceRun(name=f"F-{box}", furnace="metal-batch", pieces=stood), WHO)
    for name, kind, u in (("probe", "length", 2e-6), ("level", "angle", 2e-4)):
        readings.enter_instrument(book, Instrument(name=name, kind=kind, u=u, u_shared=0.0), WHO)
