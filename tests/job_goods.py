"""A job made by hand: every number below is invented, only their relations are checked."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import trimesh

from sagger.goods.bed import Bed
from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.cell import Cell
from sagger.goods.cured import Conduction, Cured, CuredSpot, OvenCourse, Shorter
from sagger.goods.depowdering import Depowdering
from sagger.goods.dose import Dose
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.head import Head
from sagger.goods.job import Build, Job
from sagger.goods.layout import Layout, Piece
from sagger.goods.load import Load, TrayFit
from sagger.goods.order import Choices, Order, Request, Tolerance
from sagger.goods.oven import Oven
from sagger.goods.part import Part
from sagger.goods.powder import Powder, Segment, Sintering
from sagger.goods.promised import Gain, PiecePromise, Promise, Promised
from sagger.goods.quote import Line, PartPrice, Quote, Step
from sagger.goods.shape import Shape
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered
from sagger.goods.stack import DropClass, Stack, Tally
from sagger.goods.timetable import Change, Drying, Timetable
from sagger.units import read

K = np.array([1.17, 1.18, 1.20])


def card(kind: Any, /, **given: Any) -> Any:
    """A card of this kind; text with a unit becomes a figure, figures not given become 1."""
    values: dict[str, Any] = {}
    for field in dataclasses.fields(kind):
        value = given.get(field.name)
        if value is None and field.default is not dataclasses.MISSING:
            continue  # optional
        measures = field.metadata.get("kind")
        if measures:
            printed = value or "1 -"
            number = read(printed, measures) if value else 1.0
            value = Figure(
                value=number, u=0.0, printed=printed, source="hand", where="here", standing="assumed"
            )
        elif value is None:
            value = () if "tuple" in str(field.type) else f"{kind.__name__.lower()}"
        values[field.name] = value
    return kind(**values)


def solid(mesh: trimesh.Trimesh) -> Shape:
    return Shape(vertices=np.asarray(mesh.vertices, float), triangles=np.asarray(mesh.faces, np.int32))


def cell() -> Cell:
    programme = (
        Segment(rate=2 / 60, target=673.15, hold=3600.0, atmosphere="argon", stage="debinding"),
        Segment(rate=5 / 60, target=1623.15, hold=7200.0, atmosphere="hydrogen", stage="sintering"),
    )
    sintering = card(Sintering, programme=programme, family="steel")
    return Cell(
        powder=card(
            Powder,
            title="an invented steel powder",
            kind="metal",
            sintering=sintering,
            castings=(),
            packing="55 %",
            layer="50 um",
            solid_density="7.9 g/cm3",
        ),
        binder=card(
            Binder,
            title="an invented binder",
            dry_time="6 s",
            bed_temperature="50 degC",
            cure_temperature="180 degC",
        ),
        head=card(
            Head,
            title="an invented head",
            bits=1,
            resolution_x="600 dpi",
            resolution_y="600 dpi",
            drop="30 pL",
        ),
        box=card(Box, title="an invented box", length_x="160 mm", length_y="65 mm", length_z="65 mm"),
        oven=card(Oven, title="an invented oven", temperature="200 degC"),
        furnace=card(Furnace, title="an invented furnace", shelves="4 shelves", uniformity="5 K"),
        shop=card(Shop, title="an invented shop", currency="EUR"),
    )


def part(name: str, mesh: trimesh.Trimesh, tolerance: Tolerance, quantity: int) -> Part:
    findings = (
        Finding(level="ok", what="volume", text="The file is closed.", source="hand"),
        Finding(
            level="look",
            what="thin wall",
            text="A wall of 0.8 mm is near the limit of 0.7 mm.",
            value=0.8,
            limit=0.7,
            unit="mm",
            at_mm=(1.0, 2.0, 3.0),
            source="card",
            remedy="Handle with care.",
        ),
    )
    turns = np.array([np.eye(3), [[0, -1, 0], [1, 0, 0], [0, 0, 1]]], float)
    request = Request(
        name=name,
        file=f"{name}.stl",
        unit="mm",
        quantity=quantity,
        tolerance=tolerance,
        due="2027-03-05",
    )
    return Part(
        request=request,
        digest="0" * 32,
        shape=solid(mesh),
        volume_mm3=float(mesh.volume),
        area_mm2=float(mesh.area),
        extent_mm=tuple(float(x) for x in mesh.extents),
        thickest_mm=6.0,
        turns=turns,
        healed=(),
        findings=findings,
    )


def green(made: Part, factors: Factors) -> Green:
    return Green(
        part=made, shape=made.shape, factors=factors, maps=np.einsum("i,tij->tij", factors.k, made.turns)
    )


def layout(cell: Cell, greens: tuple[Green, ...], number: int = 1) -> Layout:
    """Pieces side by side along x, turned by turns."""
    pieces, x, height, volume = [], 3.0, 0.0, 0.0
    for index, green in enumerate(greens):
        for copy in range(green.part.request.quantity):
            turn = copy % 2
            at = green.shape.vertices @ green.maps[turn].T
            place = np.eye(4)
            place[:3, :3] = green.maps[turn]
            place[:3, 3] = np.array([x, 5.0, 3.0]) - at.min(axis=0)
            pieces.append(Piece(part=index, number=copy + 1, turn=turn, placement=place))
            x += float(np.ptp(at[:, 0])) + 2
            height = max(height, 3 + float(np.ptp(at[:, 2])))
            volume += green.part.volume_mm3 * float(np.prod(K))
    return Layout(
        number=number,
        box=cell.box,
        greens=greens,
        pieces=tuple(pieces),
        gap_mm=2.0,
        least_gap_mm=2.0,
        wall_gap_mm=3.0,
        height_mm=height,
        volume_mm3=volume,
        density=volume / (160 * 65 * height),
    )


def build(layout: Layout) -> Build:
    count = int(np.ceil(layout.height_mm / 0.05))
    stack = Stack(
        layout=layout,
        pitch_mm=(25.4 / 600, 25.4 / 600),
        layer_mm=0.05,
        count=count,
        columns=3780,
        rows=1536,
        jitter=True,
    )
    drops = np.full(count, 12_345)
    tally = Tally(
        levels=drops[:, None],
        classes=(DropClass(share=1.0, places=int(drops.sum()), drops=int(drops.sum())),),
        section_mm2=np.full(count, 50.0),
        leaks=0,
        bridges=0,
        longest_mm=0.0,
        lost=0,
        digest="1" * 32,
    )
    timetable = card_like(
        Timetable,
        passes=2,
        stripes=2,
        layers=count,
        build=count * 20.0,
        layer=20.0,
        by_layer=np.full(count, 20.0),
        setup=3600.0,
        longest="printing",
        standing="assumed",
        changes=(Change(name="passes twice as fast", layer=15.0, build=count * 15.0),),
        drying=card_like(Drying, gone=np.zeros(count), standing="assumed"),
    )
    dose = card_like(
        Dose,
        drops=int(drops.sum()),
        drops_by_layer=drops,
        level_drops=(30e-15,),
        level_saturations=(0.62,),
        equilibrium=None,
        standing="assumed",
        saturation=0.62,
        drop=30e-15,
    )
    cured = in_oven()
    emptied = card_like(Depowdering, hands_on=1800.0, standing="assumed")
    return Build(
        layout=layout,
        stack=stack,
        tally=tally,
        noticed=(),
        dose=dose,
        timetable=timetable,
        cured=cured,
        depowdering=emptied,
    )


def in_oven() -> Cured:
    time = np.linspace(0, 26_000, 80)
    rise = 1 - np.exp(-time / 6000)
    course = OvenCourse(
        time=time,
        oven=np.where(time < 20_000, 473.15, 298.15),
        core=298.15 + 160 * rise,
        corner=298.15 + 175 * rise,
        core_degree=0.97 * rise,
        corner_degree=rise,
    )
    return card_like(
        Cured,
        oven_temperature=473.15,
        core_temperature=453.15,
        hold=20_000.0,
        degree=0.95,
        degrees=None,
        time_to_cure=18_000.0,
        programme=((0.0, 298.15), (3_600.0, 473.15), (20_000.0, 473.15)),
        shares=(("bed conductivity", 1.0),),
        last=CuredSpot(part=0, number=2, at_mm=(80.0, 30.0, 12.0)),
        hottest=CuredSpot(part=0, number=1, at_mm=(10.0, 10.0, 5.0)),
        shorter=Shorter(
            programme=((0.0, 298.15), (4_000.0, 503.15)),
            time_to_cure=15_000.0,
            corner_equivalent=9_000.0,
            saved=3_000.0,
        ),
        course=course,
        bed=Conduction(
            conductivity=0.2,
            conductivity_u=0.02,
            origin="law",
            piece_conductivity=0.5,
            voxels=(41, 17, 17),
        ),
    )


def card_like(kind: Any, /, **given: Any) -> Any:
    """A good whose numbers are 1 where not given, without findings."""
    ones = {"int": 1, "float": 1.0}
    return kind(**{f.name: given.get(f.name, ones.get(str(f.type), ())) for f in dataclasses.fields(kind)})


def sintered() -> Sintered:
    time = np.linspace(0, 60_000, 200)
    load = Load(
        fits=(TrayFit(part=0, quantity=3, footprint=(0.03, 0.02), height=0.01, per_tray=20, trays=1),),
        trays=1,
        trays_per_run=4,
        runs=1,
        fill=0.25,
    )
    ramp = np.clip((time - 30_000) / 20_000, 0, 1)
    return Sintered(
        programme=cell().powder.sintering.programme,
        load=load,
        time=time,
        temperature=300 + 1323 * np.clip(time / 40_000, 0, 1),
        density=0.55 + 0.42 * ramp,
        burnout=np.clip(time / 20_000, 0, 1),
        final_density=0.97,
        final_density_u=0.01,
        ratio=1 / K,
        ratio_u=np.full(3, 0.002),
        ratio_u_furnace=np.full(3, 0.001),
        run=70_000.0,
        findings=(),
    )


def promised(parts: tuple[Part, ...]) -> Promised:
    sizes = tuple(
        Promise(
            part=index,
            dimension=axis,
            nominal_mm=size,
            lower_mm=size - 0.2,
            upper_mm=size + 0.2,
            u_mm=0.1,
            shares=(("factor", 0.7), ("scatter", 0.3)),
            chance=0.954 if axis != "z" else 0.9,
            expected_mm=size,
            passed=0.95 if axis != "z" else 0.89,
            alone=0.01,
        )
        for index, made in enumerate(parts)
        for axis, size in zip("xyz", made.extent_mm, strict=True)
    )
    pieces = tuple(
        PiecePromise(
            part=index,
            asked=2,
            started=2,
            sure=0.95,
            chance=0.83,
            chance_u=0.002,
            passed=0.82,
            slipped=0.004,
            low=0.31,
            high=0.98,
            survival=0.9,
            expected=1.5,
            delivered=1.5,
            enough=0.6,
            enough_twice=0.9,
            least=4,
            ceiling=0.99,
            raised=(Gain(name="measure 5 coupons first", chance=0.96, least=3),),
            chances=np.full((2, 1), 0.74),
        )
        for index in range(len(parts))
    )
    return Promised(
        sure=0.95,
        kept=0.36,
        kept_twice=0.81,
        loads=1,
        draws=2,
        pieces_drawn=8,
        sizes=sizes,
        pieces=pieces,
        findings=(),
    )


def quote(parts: tuple[Part, ...]) -> Quote:
    return Quote(
        currency="EUR",
        lines=(
            Line(name="powder", amount=60.0, basis="1.2 kg x 50"),
            Line(name="print", amount=40.0, basis="2 h"),
        ),
        total=100.0,
        yield_total=0.9,
        prices=tuple(
            PartPrice(
                part=i, asked=2, started=2, good_pieces=1, expected=1.8, amount=36.0, price_per_piece=20.0
            )
            for i in range(len(parts))
        ),
        promises=promised(parts).sizes,
        steps=(
            Step(name="print box 1", hours=2.0, starts="2027-03-01T08:00", ends="2027-03-01T10:00"),
            Step(name="sinter run 1", hours=20.0, starts="2027-03-01T10:00", ends="2027-03-02T06:00"),
        ),
        ready="2027-03-02T06:00",
        findings=(),
    )


def bed(cell: Cell) -> Bed:
    return Bed(
        lot="H-1",
        powder=cell.powder,
        basis="the powder card",
        standing="assumed",
        packing=0.55,
        packing_u=0.01,
        green=0.54,
        green_u=0.012,
        alone=0.5,
        models=(("linear", 0.55),),
        d99=None,
        hausner=1.2,
        flow="fair",
        findings=(),
    )


def a_job(meshes: tuple[trimesh.Trimesh, ...] = (), quantity: int = 2) -> Job:
    shop_cell = cell()
    meshes = meshes or (trimesh.creation.box((20, 10, 8)), trimesh.creation.cylinder(6, 12, sections=32))
    asked = (Tolerance(kind="mm", value=0.2), Tolerance(kind="percent", value=0.5))
    parts = tuple(part(f"part-{i}", mesh, asked[i % 2], quantity) for i, mesh in enumerate(meshes))
    factors = Factors(k=K, u=np.full(3, 0.002), material="steel", origin="card")
    boxed = layout(shop_cell, tuple(green(one, factors) for one in parts))
    return Job(
        order=Order(
            name="by-hand",
            shop="an invented shop",
            start="2027-03-01T08:00",
            requests=tuple(one.request for one in parts),
            choices=Choices(),
        ),
        cell=shop_cell,
        bed=bed(shop_cell),
        parts=parts,
        factors=factors,
        builds=(build(boxed),),
        sintered=sintered(),
        promised=promised(parts),
        quote=quote(parts),
    )
