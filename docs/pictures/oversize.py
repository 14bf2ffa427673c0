"""Draws the study of docs/python.md: `.venv/bin/python docs/pictures/oversize.py` writes oversize.svg."""

from __future__ import annotations

from pathlib import Path

import numpy as np

import sagger
from sagger.goods.factors import Factors
from sagger.views.charts import plot

PERCENT = np.arange(48.0, 64.01, 0.5)  # green density asked, relative
TONES = {"x": "#1565a8", "z": "#b00020"}
AXES = {"x": 0, "z": 2}


def study() -> list[Factors]:
    """Oversize factors of the steel at each green density, known to 1 %."""
    steel = sagger.card("powder", "steel-316l")
    return [
        sagger.oversize(sagger.cards.changed(steel, "sintering.green_density", f"{percent:g} %", u="1 %"))
        for percent in PERCENT
    ]


def chart(found: list[Factors]) -> str:
    """Oversize along and across the bed and upwards against green density, with standard uncertainty."""
    k, u = np.array([each.k for each in found]), np.array([each.u for each in found])
    frame = plot.Frame((48.0, 64.0), (1.1, 1.32), 620, 340)
    card = 100 * sagger.card("powder", "steel-316l").sintering.green_density.value
    title = "Oversize against green density, steel-316l fired by its card"
    body = [plot.axes(frame, title, "green density, % (relative, u 1 %)", "green over finished length")]
    for axis, place in AXES.items():
        band = np.concatenate([k[:, place] + u[:, place], (k[:, place] - u[:, place])[::-1]])
        along = np.concatenate([PERCENT, PERCENT[::-1]])
        points = " ".join(
            f"{frame.across(a):.1f},{frame.up(b):.1f}" for a, b in zip(along, band, strict=True)
        )
        body.append(f'<polygon points="{points}" fill="{TONES[axis]}" opacity="0.15"/>')
        body.append(plot.line(frame, PERCENT.tolist(), k[:, place].tolist(), TONES[axis], 2.0))
        body.append(_name(frame, axis, k[:, place], u[:, place]))
    body.append(plot.line(frame, (card, card), frame.y, "#777", 1.0, "5 4"))
    body.append(plot.text(frame.across(card) + 6, frame.up(1.105), f"card: {card:g} %", "start"))
    return plot.svg(frame, body)


def _name(frame: plot.Frame, axis: str, k: np.ndarray, u: np.ndarray) -> str:
    """What a line is, clear of its band: z above it on the right, x and y below it on the left."""
    words, at, side, away = {
        "x": ("x and y: in the plane of layers", 2, -1, 56),
        "z": ("z: upwards", 20, 1, -12),
    }[axis]
    place = frame.across(PERCENT[at]), frame.up(float(k[at] + side * u[at])) + away
    return plot.text(*place, words, "start", f'fill="{TONES[axis]}"')


def main() -> None:
    Path(__file__).with_suffix(".svg").write_text(chart(study()), "utf-8")


if __name__ == "__main__":
    main()
