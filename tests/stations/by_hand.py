"""Small cards and goods made by hand for tests; the figures are for arithmetic, not for print shops."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger import units
from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.figure import Figure
from sagger.goods.head import Head
from sagger.goods.layout import Layout
from sagger.goods.order import Choices
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.goods.stack import DropClass, Stack, Tally

METAL = {
    "solid_density": "7950 kg/m3",
    "packing": "0.58 -",
    "d10": "8 um",
    "d50": "16 um",
    "d90": "32 um",
    "layer": "50 um",
    "least_wall": "1 mm",
    "least_gap": "0.3 mm",
    "escape_channel": "3 mm",
    "solid_conductivity": "14.5 W/m.K",
    "bed_conductivity": "0.20 W/m.K",
    "heat_capacity": "500 J/kg.K",
    "loss": "0.8 %",
    "green_strength": "5 MPa",
    "price": "60 cur/kg",
}
GLYCOL = {
    "density": "1050 kg/m3",
    "viscosity": "8 mPa.s",
    "surface_tension": "35 mN/m",
    "contact_angle": "30 deg",
    "solids": "10 %",
    "water": "60 %",
    "solvent": "30 %",
    "solvent_molar_mass": "60.1 g/mol",
    "solvent_lower_limit": "2 vol%",
    "saturation": "70 %",
    "dry_time": "5 s",
    "dried_share": "54 %",
    "bed_temperature": "60 degC",
    "oven_temperature": "200 degC",
    "cure_temperature": "180 degC",
    "cure_energy": "49.6 kJ/mol",
    "cure_t95": "1 h",
    "vapour_molar_mass": "100 g/mol",
    "vapour_viscosity": "0.03 mPa.s",
    "price": "80 cur/L",
}
HEAD = {
    "resolution_x": "800 dpi",
    "resolution_y": "800 dpi",
    "native_y": "400 dpi",
    "nozzles": "1009 nozzles",  # 1008 / 400 dpi = 64.008 mm
    "redundancy": "1 -",
    "drop": "30 pL",
    "drop_least": "5 pL",
    "drop_most": "80 pL",
    "drop_speed": "6 m/s",
    "frequency": "30 kHz",
    "pass_speed": "500 mm/s",
    "turn_time": "0.3 s",
    "clean_time": "30 s",
    "clean_every": "15 layers",
}
BOX = {
    "length_x": "400 mm",
    "length_y": "250 mm",
    "length_z": "250 mm",
    "gap": "2 mm",
    "wall_gap": "10 mm",
    "floor_gap": "10 mm",
    "spread_speed": "200 mm/s",
    "return_speed": "400 mm/s",
    "platform_time": "0.68 s",
    "over_travel": "30 mm",
    "overfeed": "20 %",
    "lamp_efficiency": "45 %",
    "setup_time": "30 min",
    "depowder_time": "10 min",
    "rate": "50 cur/h",
}
OVEN = {
    "length_x": "600 mm",
    "length_y": "600 mm",
    "length_z": "600 mm",
    "temperature": "200 degC",
    "ambient": "25 degC",
    "heat_transfer": "20 W/m2.K",
    "cool_time": "4 h",
    "rate": "8 cur/h",
}


def card(good, texts, **words):
    """A card good from texts; `words` go over them (figures are read, the rest kept)."""
    fields = {field.name: field.metadata.get("kind") for field in dataclasses.fields(good)}
    given = {**texts, **words}
    return good(
        **{
            name: figure(value) if fields[name] and isinstance(value, str) else value
            for name, value in given.items()
        }
    )


def figure(text):
    value = units.read(text, units.unit(text.split()[1]).kind)
    return Figure(value=value, u=0.0, printed=text, source="hand", where="test", standing="assumed")


def powder(**words):
    words = {"name": "metal", "title": "a metal", "kind": "metal", "hazards": ()} | words
    return card(Powder, METAL, sintering=None, castings=(), **words)


def binder(**words):
    words = {"name": "glycol", "title": "a binder", "fits": ("metal",), "hazards": ()} | words
    return card(Binder, GLYCOL, **words)


def head(**words):
    return card(Head, HEAD, name="head", title="a head", bits=1, polarity="black is drop", **words)


def box(**words):
    return card(Box, BOX, name="box", title="a box", **words)


def oven(**words):
    return card(Oven, OVEN, name="oven", title="an oven", **words)


def layout(height_mm=240.0, in_box=None, volume_mm3=0.0):
    return Layout(
        number=1,
        box=in_box or box(),
        greens=(),
        pieces=(),
        gap_mm=2.0,
        least_gap_mm=2.0,
        wall_gap_mm=10.0,
        height_mm=height_mm,
        volume_mm3=volume_mm3,
        density=0.0,
    )


def stack(count=100, pitch_mm=(25.4 / 800, 25.4 / 800), layer_mm=0.05, in_box=None):
    columns, rows = (int(side / pitch) for side, pitch in zip((400, 250), pitch_mm, strict=True))
    return Stack(
        layout=layout(count * layer_mm, in_box),
        pitch_mm=pitch_mm,
        layer_mm=layer_mm,
        count=count,
        columns=columns,
        rows=rows,
        jitter=False,
    )


def tally(of, share=0.2):
    """Every layer covers a share of the box, to the drop."""
    drops = np.full(of.count, round(share * of.columns * of.rows), dtype=np.int64)
    area = of.pitch_mm[0] * of.pitch_mm[1]
    each = DropClass(share=1.0, places=int(drops.sum()), drops=int(drops.sum()))
    return Tally(
        levels=drops[:, None],
        classes=(each,),
        section_mm2=drops * area,
        leaks=0,
        bridges=0,
        longest_mm=0.0,
        lost=0,
        digest="hand",
    )


def choices(**words):
    return Choices(**words)
