"""What was asked for."""

from __future__ import annotations

from sagger.goods.binder import Stretch
from sagger.goods.figure import Figure
from sagger.goods.good import good, holds
from sagger.goods.powder import Segment
from sagger.goods.stated import GeneralForm, StatedDatum, StatedLine

LIFTS = ("up", "sideways", "any", "none")  # ways by which pieces may leave a box; "none": no rule


@good
class Tolerance:
    """`kind` is "mm" (±`value` mm), "percent" (±`value` %) or "iso2768" (class `grade`: f, m, c or v)."""

    kind: str = holds("how it is said", one_of=("mm", "percent", "iso2768"))
    value: float = 0.0
    grade: str = holds("if kind is iso2768: f, m, c or v", default="")
    # iso2768, set by the desk: over mm, up to mm, and ± mm, of angles ± degrees by their shorter side
    steps: tuple[tuple[float, float, float], ...] = ()
    angles: tuple[tuple[float, float, float], ...] = ()
    edges: tuple[tuple[float, float, float], ...] = ()  # of outside radii and chamfers


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

    name: str = holds("of the part")
    file: str = holds("name of the part file as the customer knows it")
    unit: str  # "mm", "um", "cm", "m", "in" for files that carry none; "" = not said
    quantity: int = holds("pieces asked for")
    tolerance: Tolerance = holds("of every size of the part")
    orientations: str = holds("fixed, upright (quarter turns about z) or free (24 turns)", default="upright")
    rotation_deg: tuple[float, float, float] = holds(
        "turns about x, then y, then z, before nesting", "deg", default=(0.0, 0.0, 0.0)
    )
    scale: float = holds("of the file, before anything else", default=1.0)
    due: str = holds("ISO date, empty if none", default="")
    drawing_number: str = holds("of the customer's drawing, empty if none", default="")
    revision: str = holds("of that drawing, empty if none", default="")
    bleed_um: float | None = None  # this and the three below: None = as chosen for the whole job
    depth_um: float | None = None
    skin_mm: float | None = None
    core_saturation: float | None = None
    sag: str = ""  # as in Choices; "" = as chosen for the whole job
    body: str = ""  # of the file's bodies; "" where it holds but one, "all" until the desk has opened it
    drawing: str = "file"  # "none": what the file asks for on its faces does not count
    datums: tuple[StatedDatum, ...] = ()
    dimensions: tuple[StatedLine, ...] = ()
    form: GeneralForm | None = None  # of faces without a form tolerance of their own
    chord_mm: float | None = None  # of a STEP file's facets; None = as fine as is usual
    reading_s: float | None = None  # processor time that reading may take; None = as usual
    held: tuple[Spot, ...] = holds(  # counted in `quantity`, of which the rest is nested
        "spots in every box: shares of the free length along x and y, height [mm]; empty for nested parts",
        default=(),
    )
    together: str = holds("set whose pieces all go into one box", default="")
    apart: str = holds("parts of differently named sets never share a box", default="")
    spares: int = holds("pieces printed beyond the quantity", default=0)

    @property
    def started(self) -> int:
        """Pieces that are printed."""
        return self.quantity + self.spares


@good
class Nesting:
    """What was asked of the nest beyond its gap."""

    gap_z_mm: float | None = holds("between pieces one above the other; None = as across", "mm", default=None)
    empty_below_mm: float = holds(
        "first layers without pieces, beyond the powder that the box card asks for", "mm", default=0.0
    )
    empty_above_mm: float = holds("last layers without pieces, beyond the same", "mm", default=0.0)
    keep_out: tuple[tuple[float, float, float, float], ...] = holds(
        "rectangles of the bed left free: x, y to x, y", "mm", default=()
    )
    printed_most: float = holds("of the box area in a layer", "share", default=1.0)
    even: bool = holds("boxes get equal shares of every part", default=False)
    # "height": nests lowest; the others: least of that
    prefer: str = holds("orientations: height, surface, powder, sag or promise", default="height")
    # "by tolerance": tight parts where the bed's map says they come out nearest
    places: str = holds("any, or by tolerance", default="any")
    lift: str = holds("ways by which every piece must be able to leave", one_of=LIFTS, default="up")
    improve: int = holds("rounds of search beyond the usual ones", default=0)  # until a person says enough
    weigh: bool = holds("nested again to tell what would make it lower", default=False)


@good
class Choices:
    """What the engineer decided; None = from the cards."""

    layer_um: float | None = holds("height of a layer", "um", default=None)
    saturation: float | None = holds("binder volume over pore volume", "share", default=None)
    gap_mm: float | None = holds("between pieces", "mm", default=None)
    # None = on at 600 dpi and below
    phase_jitter: bool | None = holds("sampling phase moved from layer to layer", default=None)
    bleed_um: float | None = holds(
        "outlines are drawn inside by this; a part may say otherwise", "um", default=None
    )
    depth_um: float | None = holds(
        "undersides are drawn higher by this; a part may say otherwise", "um", default=None
    )
    skin_mm: float | None = holds(  # None = as on the powder card, else no core
        "thickness of the skin around a core; a part may say otherwise", "mm", default=None
    )
    skin_saturation: float | None = holds("of the skin, of the saturation", "share", default=None)
    core_saturation: float | None = holds(
        "of the core, of the saturation; a part may say otherwise", "share", default=None
    )
    bridge_mm: float | None = holds(
        "longest gap in an outline of a broken mesh that is joined", "mm", default=None
    )
    open_share: float | None = holds("share of an outline's ends that may be open", "share", default=None)
    snap: bool = holds("pieces moved by up to a drop, so that flat faces fall between drops", default=False)
    # "g4", "packbits", "deflate", "none"
    compression: str = holds('of the layer files; "" = by content', default="")
    alloy: str = holds("sand only: the metal to be cast", default="")  # its contraction sizes the cavity
    sag: str = holds(
        "oversize factors alone, or pre-deformed against sagging on a coarse or a fine grid; a part may say "
        "otherwise",
        one_of=("factors", "quick", "full"),
        default="factors",
    )
    factors: str = holds(
        "print with approved factors as they are, or carried to the job's conditions by the law",
        one_of=("approved", "carried"),
        default="approved",
    )
    by_place: bool = holds("oversize of each piece from its own place in the bed", default=False)
    seed: int = holds("of the search for a nest", default=1)
    nesting: Nesting = holds("what was asked of the nest beyond its gap", default=Nesting())


@good
class Order:
    """The order."""

    name: str = holds("of the order")
    shop: str = holds("whose it is")
    start: str = holds("ISO date and time at which the first box can start")
    good: float = holds("chance with which there shall be enough good pieces", "share", default=0.95)
    requests: tuple[Request, ...]
    choices: Choices = holds("what the engineer decided")
    customer: str = holds("for whom it is made, empty if not said", default="")
    reference: str = holds("the customer's own, such as a purchase number; empty if none", default="")
    valid: str = holds("ISO date until which an offer holds, empty if not said", default="")
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
