"""Colours and letters by which parts are told apart, in print without colour too."""

from __future__ import annotations

from sagger.goods.cured import CuredSpot

Colour = tuple[int, int, int]

# Found by a search for eight colours that stay apart for every kind of colour vision (see their test).
PARTS: tuple[Colour, ...] = (
    (238, 172, 31),
    (33, 130, 244),
    (150, 31, 143),
    (98, 230, 244),
    (37, 88, 49),
    (227, 74, 141),
    (184, 203, 143),
    (136, 123, 42),
)

# Of findings; each differs in lightness too, so that they part in grey.
LEVEL_COLOURS = {"ok": "#c3cbd6", "look": "#e08a12", "stop": "#7a1470"}

# From low to high; lightness rises evenly, so the order is seen without colour (see their test).
RAMP = ("#1b1d4f", "#274d86", "#2d7f92", "#5bb08a", "#b2d77c", "#fbf3a8")
# From below to above; the middle is light, both ends are dark alike.
SPREAD = ("#123f7a", "#4f8fcb", "#b9d4ea", "#f4f2ea", "#f0c48d", "#c97b2a", "#6e3a06")


def colour(part: int) -> Colour:
    """Colour (red, green, blue, 0 to 255) of a part by its index; after eight parts they come again."""
    return PARTS[part % len(PARTS)]


def web(part: int) -> str:
    """The same colour as a page writes it, "#rrggbb"."""
    return "#" + "".join(f"{level:02x}" for level in colour(part))


def letter(part: int) -> str:
    """A, B, …, Z, AA, AB, … for part 0, 1, …"""
    word = ""
    count = part + 1
    while count:
        count, rest = divmod(count - 1, 26)
        word = chr(ord("A") + rest) + word
    return word


def spotted(spot: CuredSpot) -> str:
    """The piece at a place, as on the pictures, "A12"."""
    return f"{letter(spot.part)}{spot.number}"
