"""What was asked for."""

from __future__ import annotations

from sagger.goods.binder import Stretch
from sagger.goods.figure import Figure
from sagger.goods.good import good
from sagger.goods.powder import Segment


@good
class Tolerance:
    """`kind` is "mm" (±`value` mm), "percent" (±`value` %) or "iso2768" (class `grade`: f, m, c or v)."""

    kind: str
    value: float = 0.0
    grade: str = ""
    steps: tuple[tuple[float, float, float], ...] = ()  # iso2768: (over mm, up to mm, ± mm), set by the desk


@good
class Spot:
    """A place in every box at which a piece is held, as shares of the free room along x and y.

    0 is at the low wall, 1 at the high one. Pieces of one spot lie side by side along
    x, in the order of the order's parts.
    """

    x: float
    y: float
    z_mm: float = 0.0  # above the lowest place that pieces may lie at


@good
class Coupon:
    """A set of coupons, one at each spot of every box."""

    kind: str  # "bar", "cube", "steps" or "cylinder"
    spots: tuple[Spot, ...]
    series: int = 1  # part of the label, from 0 to 31


@good
class Request:
    """One part of an order."""

    name: str
    file: str  # name of the part file as the customer knows it
    unit: str  # "mm", "um", "cm", "m", "in" for files that carry none; "" = not said
    quantity: int
    tolerance: Tolerance
    orientations: str = "upright"  # "fixed", "upright" (quarter turns about z), "free" (24 turns)
    rotation_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)  # about x, then y, then z
    scale: float = 1.0  # of the file, before anything else; 1 unless the order says so
    due: str = ""  # ISO date, empty if none
    bleed_um: float | None = None  # this and the three below: None = as chosen for the whole job
    depth_um: float | None = None
    skin_mm: float | None = None
    core_saturation: float | None = None
    sag: str = ""  # as in Choices; "" = as chosen for the whole job
    held: tuple[Spot, ...] = ()  # in every box; counted in `quantity`, of which the rest is nested
    together: str = ""  # name of a set whose pieces all go into one box
    apart: str = ""  # name of a set; parts of differently named sets never share a box


@good
class Nesting:
    """What is asked of the nest beyond its gap."""

    gap_z_mm: float | None = None  # between pieces one above the other; None = as across
    empty_below_mm: float = 0.0  # first layers without pieces, beyond the powder the box card asks for
    empty_above_mm: float = 0.0  # last layers without pieces, beyond the same
    keep_out: tuple[tuple[float, float, float, float], ...] = ()  # x, y to x, y of the bed [mm]
    printed_most: float = 1.0  # share of the box area that may be printed in a layer [-]
    even: bool = False  # boxes get equal shares of every part
    prefer: str = "height"  # orientations: nests lowest; or "surface", "powder", "sag": least of that
    places: str = "any"  # or "by tolerance": tight parts where the bed's map says they come out nearest
    improve: int = 0  # rounds of search beyond the usual ones, until a person says enough


@good
class Choices:
    """What the engineer may decide for a job; None = from the cards."""

    layer_um: float | None = None
    saturation: float | None = None
    gap_mm: float | None = None
    phase_jitter: bool | None = None  # None = on at 600 dpi and below
    bleed_um: float | None = None  # how far binder creeps beyond an outline; None = as on the powder card
    depth_um: float | None = None  # how far binder soaks below a layer; None = as on the powder card
    skin_mm: float | None = None  # None = as on the powder card, else no core
    skin_saturation: float | None = None  # share of the saturation [-]; None = as on the card, else 1
    core_saturation: float | None = None  # share of the saturation [-]; None = as on the card, else 1
    bridge_mm: float | None = None  # longest gap in an outline of a broken mesh that is joined
    open_share: float | None = None  # share of an outline's ends that may be open
    snap: bool = False  # move pieces by up to a drop, so that flat faces fall between drops
    compression: str = ""  # of layer files: "" = by content, "g4", "packbits", "deflate", "none"
    alloy: str = ""  # sand only: the metal to be cast, whose contraction sizes the cavity
    sag: str = "factors"  # what sagging in the furnace is done about: nothing ("factors"), "quick", "full"
    by_place: bool = False  # oversize of each piece from its own place in the bed
    seed: int = 1
    nesting: Nesting = Nesting()


@good
class Order:
    name: str
    shop: str
    start: str  # ISO date and time at which the first box can start
    requests: tuple[Request, ...]
    choices: Choices
    coupons: tuple[Coupon, ...] = ()  # the desk adds a request for each piece of them
    lot: str = ""  # of the powder: a lot file, relative to the order, or a name in the ledger
    oven: Figure | None = None  # set point in place of the binder card's
    oven_programme: tuple[Stretch, ...] = ()  # in place of the binder card's; () = the card's
    furnace_programme: tuple[Segment, ...] = ()  # in place of the powder card's; () = the card's


@good
class CardNames:
    """Which card of each kind a job uses; furnace "" for sand."""

    powder: str
    binder: str
    head: str
    box: str
    oven: str
    furnace: str
    shop: str
