"""Findings about the surface: closed, one-sided, crossing itself, mended."""

from __future__ import annotations

from numpy import ndarray

from sagger.geometry.heal import Healed
from sagger.goods.finding import Finding


def surface(healed: Healed) -> list[Finding]:
    """What is left wrong with a surface after healing, and what healing had to guess."""
    return [_closed(healed), _crossing(healed), *_guesses(healed)]


def place(point: ndarray) -> tuple[float, float, float]:
    """A point as a finding carries it, to the nearest 0.001 mm."""
    x, y, z = (round(float(value), 3) for value in point)
    return x, y, z


def _closed(healed: Healed) -> Finding:
    if not healed.open_edges:
        count = len(healed.shells.depth)
        shells = "one shell" if count == 1 else f"{count} shells"
        accepted = "" if healed.manifold else "; a boolean kernel does not take it for a solid"
        text = f"The surface is closed ({shells}, {len(healed.shape.triangles)} triangles{accepted})."
        level = "ok" if healed.manifold else "look"
        return Finding(level=level, what="open mesh", text=text, value=0.0, limit=0.0, unit="edges")
    text = (
        f"The surface is open: {healed.open_edges} edges belong to one side only, "
        f"{healed.open_wide} holes are too wide and too bent to close without guessing."
    )
    return Finding(
        level="stop",
        what="open mesh",
        text=text,
        value=float(healed.open_edges),
        limit=0.0,
        unit="edges",
        at_mm=place(healed.open_at),
        remedy="Close the surface where it was drawn, or send STEP.",
    )


def _crossing(healed: Healed) -> Finding:
    if not healed.crossing:
        text = "The surface does not run through itself."
        return Finding(level="ok", what="self-crossing", text=text, value=0.0, limit=0.0, unit="places")
    text = f"The surface runs through itself: {healed.crossing} pairs of triangles cross."
    return Finding(
        level="look",
        what="self-crossing",
        text=text,
        value=float(healed.crossing),
        limit=0.0,
        unit="places",
        at_mm=place(healed.crossing_at),
        remedy="Look at the place: what lies inside twice is printed once. Or join the bodies in the drawing",
    )


def _guesses(healed: Healed) -> list[Finding]:
    """Changes that a person should know of."""
    found = []
    if healed.widest_mm > 0:
        text = f"Holes in the surface were closed, the widest {healed.widest_mm:.3g} mm across."
        remedy = "See that nothing was meant to be open there."
        found.append(
            Finding(
                level="look", what="hole filled", text=text, value=healed.widest_mm, unit="mm", remedy=remedy
            )
        )
    if healed.turned_in:
        text = f"{healed.turned_in} shells inside others faced outward and were taken for cavities."
        remedy = "If they are solid, delete them where the part was drawn."
        found.append(
            Finding(
                level="look",
                what="shell in shell",
                text=text,
                value=float(healed.turned_in),
                unit="shells",
                remedy=remedy,
            )
        )
    return found
