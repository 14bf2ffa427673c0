"""Findings about the surface: closed, one-sided, crossing itself, mended."""

from __future__ import annotations

from collections.abc import Iterator

from numpy import ndarray

from sagger.geometry.surface.heal import Healed
from sagger.goods.finding import Against, Finding, advice, ok, risk, stop


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
        return advice("open mesh", text, Against(0.0, 0.0, "edges"), unless=healed.manifold)
    text = (
        f"The surface is open: {healed.open_edges} edges belong to one side only, "
        f"{healed.open_wide} holes are too wide and too bent to close without guessing."
    )
    against, remedy = (
        Against(float(healed.open_edges), 0.0, "edges"),
        "Close the surface where it was drawn, or send STEP.",
    )
    return stop("open mesh", text, against, remedy, at_mm=place(healed.open_at))


def _crossing(healed: Healed) -> Finding:
    against = Against(float(healed.crossing), 0.0, "places")
    if not healed.crossing:
        return ok("self-crossing", "The surface does not run through itself.", against)
    text = f"The surface runs through itself: {healed.crossing} pairs of triangles cross."
    remedy = "Look at the place: what lies inside twice is printed once. Or join the bodies in the drawing"
    return risk("self-crossing", text, against, remedy, at_mm=place(healed.crossing_at))


def _guesses(healed: Healed) -> Iterator[Finding]:
    """Changes that a person should know of."""
    if healed.widest_mm > 0:
        text = f"Holes in the surface were closed, the widest {healed.widest_mm:.3g} mm across."
        remedy = "See that nothing was meant to be open there."
        yield risk("hole filled", text, Against(healed.widest_mm, unit="mm"), remedy)
    if healed.turned_in:
        text = f"{healed.turned_in} shells inside others faced outward and were taken for cavities."
        remedy = "If they are solid, delete them where the part was drawn."
        yield risk("shell in shell", text, Against(float(healed.turned_in), unit="shells"), remedy)
