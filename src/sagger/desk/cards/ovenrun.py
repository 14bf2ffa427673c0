"""A thermocouple run of a box of loose powder becomes the bed conductivity of the shop's own powder card."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

from numpy import ndarray

from sagger import cards, units
from sagger.desk.cards import own_cards
from sagger.desk.home import card_folders
from sagger.errors import InputError
from sagger.files import ovenrun
from sagger.goods.box import Box
from sagger.goods.good import good
from sagger.goods.ovenrun import FittedBed, OvenRun, RunPlace
from sagger.goods.powder import Powder
from sagger.stations import cure
from sagger.tick import Tick, silent

FIGURE = "bed_conductivity"
UNIT = "W/m.K"


@good
class OvenRunInput:
    """What was in the oven; texts with a unit, empty = from the cards or the middle of the bed."""

    powder: str
    box: str
    oven: str
    height: str = ""
    at: tuple[str, str, str] | None = None
    packing: str = ""
    keep: bool = False


@good
class OvenRunDocument:
    """What a run says, for --json."""

    schema: str = "sagger-ovenrun/1"
    run: str
    powder: str
    bed_conductivity_W_per_mK: float
    u_W_per_mK: float
    shares_percent: Mapping[str, float]  # of the variance, by what it comes from
    misfit_K: float
    time_h: tuple[float, ...]
    read_degC: tuple[float, ...]
    modelled_degC: tuple[float, ...]
    card: str | None  # where it was kept


def fitted(table: Path, asked: OvenRunInput, *, tick: Tick = silent) -> tuple[OvenRunDocument, list[str]]:
    """The bed conductivity that a run tells, as a document and as lines; kept on a card if that was asked.

    Raises
    ------
    InputError
        If the table, a card or a text is refused.
    LawError
        If no conductivity of a powder bed gives what was read.
    """
    folders = card_folders()
    powder = cards.load("powder", asked.powder or cards.DEFAULTS.powder, folders)
    box = cards.load("box", asked.box or cards.DEFAULTS.box, folders)
    oven = cards.load("oven", asked.oven or cards.DEFAULTS.oven, folders)
    run, place = ovenrun.read(table), _place(asked, powder, box)
    found = cure.calibrate(run, place, powder, box, oven, tick=tick)
    kept = _keep(run, place, found, powder) if asked.keep else None
    return _document(run, powder, found, kept), _lines(run, powder, found, kept)


def _place(asked: OvenRunInput, powder: Powder, box: Box) -> RunPlace:
    height = _read(asked.height, "length", "--height") if asked.height else box.length_z.value
    if not 0 < height <= box.length_z.value:
        raise InputError(
            "the powder must be higher than nothing and no higher than the box",
            field="--height",
            value=asked.height,
            remedy=f"The box card says {box.length_z.printed}.",
        )
    middle = (box.length_x.value / 2, box.length_y.value / 2, height / 2)
    at = tuple(_read(text, "length", "--at") for text in asked.at) if asked.at else middle
    packing = powder.packing
    known = _read(asked.packing, "pure", "--packing") if asked.packing else packing.value
    return RunPlace(
        height_mm=1e3 * height,
        at_mm=(1e3 * at[0], 1e3 * at[1], 1e3 * at[2]),
        packing=known,
        packing_u=0.0 if asked.packing else packing.u,
    )


def _read(text: str, kind: str, field: str) -> float:
    try:
        return units.read(text, kind)
    except InputError as error:
        raise InputError(error.what, field=field, value=text, remedy=error.remedy) from None


def _keep(run: OvenRun, place: RunPlace, fitted: FittedBed, powder: Powder) -> Path:
    """Write the shop's own card: the one in use, its bed conductivity replaced, the run among the sources."""
    key = f"run-{run.digest[:12]}"
    x, y, z = place.at_mm
    figure = own_cards.CardFigure(
        value=f"{fitted.conductivity:.4g} {UNIT}",
        u=f"{fitted.u:.2g} {UNIT}",
        source=key,
        where=f"thermocouple at {x:.0f}, {y:.0f}, {z:.0f} mm in {place.height_mm:.0f} mm of powder, "
        f"packing {place.packing:.3f}; misfit {fitted.misfit:.2g} K",
    )
    title = f"Thermocouple run {run.name}, fitted {datetime.date.today().isoformat()}"
    source = own_cards.OwnSource(key=key, title=title, seen="table")
    return own_cards.put("powder", powder.name, {FIGURE: figure}, source)


def _lines(run: OvenRun, powder: Powder, fitted: FittedBed, card: Path | None) -> list[str]:
    before = powder.bed_conductivity
    parts = ", ".join(f"{name} {100 * share:.0f} %" for name, share in fitted.shares)
    lines = [
        f"{powder.name}: bed conductivity {fitted.conductivity:.3g} W/mK (u {fitted.u:.2g}) from {run.name}",
        f"the card says {before.printed} ({before.standing})",
        f"model and reading differ by {fitted.misfit:.2g} K (root mean square); uncertainty: {parts}",
    ]
    return [*lines, own_cards.fate(card)]


def _document(run: OvenRun, powder: Powder, fitted: FittedBed, card: Path | None) -> OvenRunDocument:
    return OvenRunDocument(
        run=run.name,
        powder=powder.name,
        bed_conductivity_W_per_mK=fitted.conductivity,
        u_W_per_mK=fitted.u,
        shares_percent={name: round(100 * share, 2) for name, share in fitted.shares},
        misfit_K=fitted.misfit,
        time_h=tuple(round(float(at) / 3600, 4) for at in fitted.time),
        read_degC=_celsius(fitted.read),
        modelled_degC=_celsius(fitted.modelled),
        card=str(card) if card else None,
    )


def _celsius(history: ndarray) -> tuple[float, ...]:
    return tuple(round(units.into(float(kelvin), "degC"), 2) for kelvin in history)
