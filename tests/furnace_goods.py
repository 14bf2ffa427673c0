"""Small goods made by hand for the furnace and the quote. Every number is invented; only relations count."""

import dataclasses

import numpy as np

from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.cell import Cell
from sagger.goods.cured import Cured
from sagger.goods.dose import Dose
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.head import Head
from sagger.goods.job import Build
from sagger.goods.layout import Layout, Piece
from sagger.goods.order import Choices, Order, Request, Tolerance
from sagger.goods.oven import Oven
from sagger.goods.part import Part
from sagger.goods.powder import Casting, Powder, Segment, Sintering
from sagger.goods.promised import PiecePromise, Promised
from sagger.goods.shape import Shape
from sagger.goods.shop import Shop
from sagger.goods.stack import Stack, Tally
from sagger.goods.timetable import Timetable
from sagger.stations import depowder, sinter

H, MM = 3600.0, 1e-3


def fig(value, u=0.0):
    return Figure(value=value, u=u, printed=f"{value}", source="hand", where="made up", standing="assumed")


def filled(kind, given):
    """A card good whose figures not given are 1."""
    fields = [
        field.name
        for field in dataclasses.fields(kind)
        if "kind" in field.metadata and field.default is dataclasses.MISSING
    ]
    figures = {name: fig(1.0) for name in fields} | {
        name: value if isinstance(value, Figure) or not isinstance(value, int | float) else fig(value)
        for name, value in given.items()
    }
    return kind(**figures)


def segment(rate_per_min=5.0, degc=1370.0, hold_h=1.0, atmosphere="hydrogen", stage="sintering"):
    return Segment(
        rate=rate_per_min / 60, target=degc + 273.15, hold=hold_h * H, atmosphere=atmosphere, stage=stage
    )


BURN = segment(2.0, 600.0, 1.0, stage="debinding")


def sintering(**changes):
    given = {
        "green_density": fig(0.55, 0.005),
        "sintered_density": fig(0.964, 0.004),
        "end_density": 0.98,
        "anisotropy_z": fig(1.15, 0.01),
        "anisotropy_y": fig(1.02, 0.01),
        "scatter": 0.0008,
        "surface_energy": 1.7,
        "capillary_radius": 5e-6,
        "viscosity_factor": fig(0.0542, 0.003),
        "activation_energy": 226.7e3,
        "debind_energy": 242e3,
        "debind_peak": 708.15,
        "debind_peak_rate": 10 / 60,
        "debind_overpressure": 20e3,
        "programme": (BURN, segment()),
        "family": "hand",
    }
    return filled(Sintering, given | changes)


def powder(card=None, **changes):
    given = {
        "name": "hand-steel",
        "title": "steel by hand",
        "kind": "metal",
        "hazards": (),
        "solid_density": 7950.0,
        "d50": 10e-6,
        "price": 35.0,
        "sintering": card or sintering(),
        "castings": (),
    }
    return filled(Powder, given | changes)


def sand():
    iron = Casting(alloy="iron", contraction=fig(0.008), other=fig(0.010))
    return dataclasses.replace(powder(), kind="sand", title="sand by hand", sintering=None, castings=(iron,))


def furnace(**changes):
    given = {
        "name": "hand-furnace",
        "title": "furnace by hand",
        "atmospheres": ("hydrogen", "argon"),
        "tray_x": 300 * MM,
        "tray_y": 200 * MM,
        "tray_edge": 5 * MM,
        "shelf_height": 60 * MM,
        "shelves": 4.0,
        "part_gap": 3 * MM,
        "temperature": 1450 + 273.15,
        "rate_most": 10 / 60,
        "uniformity": 5.0,
        "cool_rate": 10 / 60,
        "rate": 14.0 / H,
        "run_price": 153.0,
    }
    return filled(Furnace, given | changes)


def shop(**changes):
    given = {
        "name": "hand-shop",
        "title": "shop by hand",
        "currency": "cur",
        "labour": 40 / H,
        "overhead": 0.15,
        "binder_flush": 0.15,
        "cure_labour": 0.25 * H,
        "furnace_labour": 1.0 * H,
        "inspect_time": 30.0,
        "yield_print": 0.98,
        "yield_depowder": 0.97,
        "yield_sinter": 0.96,
        "yield_inspect": 0.99,
        "working_hours": 8 * H,
    }
    return filled(Shop, given | changes)


def box(**changes):
    given = {
        "name": "hand-box",
        "title": "box by hand",
        "length_x": 0.3,
        "length_y": 0.2,
        "length_z": 0.2,
        "depowder_time": 30 * 60.0,
        "setup_time": 1.5 * H,
        "rate": 18.6592 / H,
    }
    return filled(Box, given | changes)


def cell(**changes):
    given = {
        "powder": powder(),
        "binder": filled(Binder, {"name": "b", "title": "b", "fits": (), "hazards": (), "price": 30e3}),
        "head": filled(Head, {"name": "h", "title": "h", "bits": 1, "polarity": "black is drop"}),
        "box": box(),
        "oven": filled(Oven, {"name": "o", "title": "o", "rate": 6 / H}),
        "furnace": furnace(),
        "shop": shop(),
    }
    return Cell(**(given | changes))


def block(x=20.0, y=20.0, z=12.5):
    """A box-shaped shape with one corner at the origin [mm]."""
    corners = np.array([[i, j, k] for k in (0, 1) for j in (0, 1) for i in (0, 1)], dtype=float) * (x, y, z)
    faces = [(0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4)]
    faces += [(2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5)]
    return Shape(vertices=corners, triangles=np.array(faces, dtype=np.int32))


def part(size=(20.0, 20.0, 12.5), quantity=10, tolerance=None, turns=None, **changes):
    x, y, z = size
    asked = {"name": "block", "file": "block.stl", "unit": "mm", "quantity": quantity} | changes
    return Part(
        request=Request(tolerance=tolerance or Tolerance(kind="percent", value=0.5), **asked),
        digest="0" * 32,
        shape=block(*size),
        volume_mm3=x * y * z,
        area_mm2=2 * (x * y + y * z + z * x),
        extent_mm=size,
        thickest_mm=min(size),
        turns=np.eye(3)[None] if turns is None else turns,
        healed=(),
        findings=(),
    )


def factors(k=(1.19, 1.19, 1.22), u=(0.001, 0.001, 0.001), origin="card"):
    return Factors(k=np.array(k), u=np.array(u), material="hand-steel", origin=origin)


def green(one=None, given=None):
    one, given = one or part(), given or factors()
    return Green(part=one, shape=one.shape, factors=given, maps=np.diag(given.k) @ one.turns)


def dose(**changes):
    numbers = {
        field.name: 0.0
        for field in dataclasses.fields(Dose)
        if field.name not in ("findings", "drops_by_layer", "level_drops")
    }
    given = {"powder_in_pieces": 9.39235, "powder_lost": 1.63091, "binder": 0.589157e-3 / 1.15}
    return Dose(
        **(
            numbers
            | given
            | {"drops": 0, "drops_by_layer": np.zeros(1), "level_drops": (), "findings": ()}
            | changes
        )
    )


def burnt():
    """Doses and a binder: 1 % binder by mass, as vapour of 100 g/mol and 0.03 mPa.s."""
    kinds = {"name": "b", "title": "b", "fits": (), "hazards": ()}
    gone = filled(Binder, kinds | {"vapour_molar_mass": 0.1, "vapour_viscosity": 3e-5})
    return (dose(powder_in_pieces=10.0, solids_mass=0.1),), gone


def fire(greens, card=None, oven=None, **rest):
    """A furnace run of these pieces."""
    doses, gone = burnt()
    return sinter.plan(greens, doses, card or powder(), gone, oven or furnace(), **rest)


def timetable(build=4000 * 12.0, setup=1.5 * H):
    numbers = {field.name: 0.0 for field in dataclasses.fields(Timetable) if field.name != "findings"}
    whole = {
        "passes": 1,
        "stripes": 1,
        "layers": 4000,
        "longest": "printing",
        "standing": "assumed",
        "changes": (),
        "drying": None,
    }
    return Timetable(**(numbers | whole | {"build": build, "setup": setup, "findings": ()}))


def cured(hold=8 * H, cool=0.0):
    numbers = {field.name: 0.0 for field in dataclasses.fields(Cured) if field.type == "float"}
    rest = {field.name: () for field in dataclasses.fields(Cured) if field.name not in numbers}
    rest["degrees"] = None
    return Cured(**(numbers | rest | {"hold": hold, "cool": cool}))


def build(greens, number=1, counts=None, height_mm=100.0, turn=0, **changes):
    counts = counts or [each.part.request.quantity for each in greens]
    pieces = tuple(
        Piece(part=index, number=copy, turn=turn, placement=np.eye(4))
        for index, count in enumerate(counts)
        for copy in range(1, count + 1)
    )
    layout = Layout(
        number=number,
        box=box(),
        greens=greens,
        pieces=pieces,
        gap_mm=5.0,
        least_gap_mm=5.0,
        wall_gap_mm=5.0,
        height_mm=height_mm,
        volume_mm3=1.0,
        density=0.2,
    )
    stack = Stack(
        layout=layout,
        pitch_mm=(0.0635, 0.0635),
        layer_mm=0.05,
        count=4000,
        columns=1,
        rows=1,
        jitter=False,
    )
    tally = Tally(
        levels=np.zeros((1, 1), np.int64),
        classes=(),
        section_mm2=np.zeros(1),
        leaks=0,
        bridges=0,
        longest_mm=0.0,
        lost=0,
        digest="0",
    )
    emptied = depowder.plan(layout, dose(), powder())
    given = {"dose": dose(), "timetable": timetable(), "cured": cured(), "depowdering": emptied} | changes
    return Build(layout=layout, stack=stack, tally=tally, noticed=(), **given)


def order(greens, start="2030-01-07T08:00"):  # a Monday
    return Order(
        name="hand",
        shop="hand",
        start=start,
        requests=tuple(each.part.request for each in greens),
        choices=Choices(),
    )


def piece_promise(part, request, chance=0.9):
    """One load; every draw of what pieces share gives the same chance."""
    started = request.quantity
    return PiecePromise(
        part=part,
        asked=request.quantity,
        started=started,
        sure=0.95,
        chance=chance,
        chance_u=0.0,
        passed=chance,
        slipped=0.0,
        low=chance,
        high=chance,
        survival=1.0,
        expected=started * chance,
        delivered=started * chance,
        enough=0.5,
        enough_twice=0.8,
        least=started + 5,
        ceiling=1.0,
        raised=(),
        chances=np.full((4, 1), chance),
    )


def promised(greens, chance=0.9):
    """A promise by hand."""
    asked = enumerate(each.part.request for each in greens)
    pieces = tuple(piece_promise(part, request, chance) for part, request in asked if not request.held)
    return Promised(
        sure=0.95,
        kept=0.5,
        kept_twice=0.8,
        loads=1,
        draws=4,
        pieces_drawn=1,
        sizes=(),
        pieces=pieces,
        findings=(),
    )
