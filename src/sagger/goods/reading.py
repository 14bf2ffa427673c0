"""Something that was measured, on which piece, with what, and what is known of where that piece has been."""

from __future__ import annotations

from sagger.goods.good import good

KINDS = (
    "length",
    "thickness",
    "mass",
    "density",
    "strength",
    "hardness",
    "temperature",
    "deviation",
    "dimension",
)
STATES = ("green", "brown", "sintered")
UNITS = {"length": "mm", "thickness": "mm", "mass": "g", "density": "g/cm3", "strength": "MPa"}
UNITS |= {"temperature": "degC", "deviation": "mm"}  # as the trade writes them; a hardness has its own scale
AXES = ("x", "y", "z", "")


@good
class Instrument:
    """What a reading is taken with. Both uncertainties are standard uncertainties, k = 1 [SI]."""

    name: str
    kind: str  # one of KINDS
    u: float  # of one reading alone: resolution, repeatability, reader
    u_shared: float  # of what all its readings have in common: calibration, zero
    u_shared_relative: float = 0.0  # the same, as a share of the reading: scale, temperature [-]
    calibrated: str = ""  # ISO date


@good
class Reading:
    """One reading. Two readings of one instrument share an error: their covariance is u_shared * u_shared."""

    kind: str  # one of KINDS; "dimension" is a line of the drawing: its number stands first in `feature`
    state: str  # one of STATES
    value: float  # [SI]; hardness in the scale that `unit` names
    u: float  # standard uncertainty of this reading alone [as value]
    box: str  # name of the box it was printed in, as booked
    piece: str  # label of the piece or coupon in that box
    u_shared: float = 0.0  # standard uncertainty that it shares with the instrument's other readings
    instrument: str = ""  # "" = not said: shares nothing
    unit: str = ""  # as written: "mm", "g", "HV10"
    axis: str = ""  # machine axis along which a length lay when printed; one of AXES
    feature: str = ""  # which length or line: "bar", "7.2 diameter main bore"; how a density was found
    nominal: float | None = None  # finished size that was asked for [SI]
    taken: str = ""  # ISO date or time
    person: str = ""
    number: int = 0  # in the ledger; 0 before it stands there
    corrects: int = 0  # number of the reading that it replaces
    part: str = ""  # name of the part or kind of coupon
    coupon: bool = False
    at_mm: tuple[float, float, float] | None = None  # centre of the piece in the box, machine axes
    powder: str = ""  # card
    lot: str = ""  # of the powder that the box was charged with; several are joined by " + "
    load: str = ""  # furnace run
    furnace: str = ""
    tray: str = ""
    place: str = ""  # name of a place in the furnace, e.g. "front left"
    fired_mm: tuple[float, float, float] | None = None  # place in the furnace, its own axes


@good
class BadRow:
    """A row of a table of readings that was not taken, and why."""

    line: int  # in the file, from 1
    column: int  # from 1; 0 = the row as a whole
    name: str  # of the column
    what: str


@good
class Table:
    """What a table of readings came to: the good rows are kept though others are bad."""

    readings: tuple[Reading, ...]
    bad: tuple[BadRow, ...]
    digest: str  # of the file
