"""What factors were measured under: of a job, as a person says, or the usual ones of the cards."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Sequence

import numpy as np

from sagger import cards, line
from sagger.desk.home import card_folders, ledger
from sagger.desk.measuring.book import plan_of_job
from sagger.desk.powder.lot import lot as lot_of
from sagger.desk.so_far import so_far
from sagger.errors import CardError, InputError
from sagger.goods.cell import Cell
from sagger.goods.factors import Conditions, Factors, Foretold
from sagger.goods.furnace import Furnace
from sagger.goods.good import good
from sagger.goods.learned import Approved
from sagger.goods.order import Choices
from sagger.goods.powder import Powder, Segment
from sagger.goods.reading import Reading
from sagger.ledger import Ledger, bodies, boxes
from sagger.stations import bed, shrink, sinter
from sagger.statistics import chance

NONE = np.zeros(0)
USUAL = "the usual conditions of the cards (nobody said under what)"
WEIGHED_U = 0.003  # relative density; of a density that a person states without u; assumed
STATED = "conditions as stated on approval, the rest as the cards have it"


@good
class StatedConditions:
    """What a person says of the conditions [SI]; None or "" = as the cards have it."""

    job: int | None = None  # whose plan says all of them
    lot: str = ""  # a lot file, or a name in the ledger
    binder: str = ""
    head: str = ""
    box: str = ""
    furnace: str = ""
    layer: float | None = None
    saturation: float | None = None
    peak: float | None = None
    hold: float | None = None
    rate: float | None = None
    atmosphere: str = ""
    green_density: float | None = None
    density: float | None = None

    @property
    def said(self) -> bool:
        """Whether anything was said."""
        return any(getattr(self, field.name) not in (None, "") for field in dataclasses.fields(self))

    @property
    def hotter(self) -> bool:
        """Whether another programme than the card's was said."""
        return bool(self.atmosphere) or any(at is not None for at in (self.peak, self.hold, self.rate))


NOTHING = StatedConditions()


def with_conditions(factors: Factors) -> Factors:
    """Factors with the usual conditions of the cards, if nobody said under what they were measured."""
    powder = cards.load("powder", factors.material, card_folders())
    if factors.conditions is not None or powder.sintering is None:
        return factors
    return dataclasses.replace(factors, conditions=stated(factors.material, NOTHING))


def in_force(approved: Approved) -> Approved:
    """What is in force, with the conditions of its factors and the furnace that they were measured in."""
    if approved.factors is None:
        return approved
    factors = with_conditions(approved.factors)
    known = factors.conditions
    furnace = _furnace(known.furnace) if known else None
    return dataclasses.replace(approved, factors=factors, furnace=furnace)


def stated(material: str, words: StatedConditions) -> Conditions | None:
    """Conditions as a person says them; None for a powder that is not sintered.

    Raises
    ------
    CardError, LotError
        If a card or lot is refused, or cards do not fit each other.
    InputError
        If the job has no plan, or is of another powder.
    """
    if words.job is not None:
        return _measured(of_job(ledger(), words.job, material), words)
    cell = _cell(material, words)
    if cell.powder.sintering is None:
        return None
    lot = lot_of(words.lot, material) if words.lot else None
    choices = Choices(
        layer_um=None if words.layer is None else words.layer * 1e6, saturation=words.saturation
    )
    cell = line.with_bed(dataclasses.replace(cell, lot=lot), bed.spread(cell.powder, lot, choices))
    return _measured(_present(cell, choices, STATED if words.said else USUAL, words), words)


def of_job(book: Ledger, job: int, material: str) -> Conditions:
    """Conditions that the plan of a job was made for, its density as foretold.

    Raises
    ------
    InputError
        If the job has no plan, or is of another powder or not sintered.
    """
    plan, done = plan_of_job(book, job), so_far(book, job)
    names = {card.kind: card.name for card in plan.cards}
    if names["powder"] != material or "furnace" not in names or done.bed is None:
        what = f"job {job} is of {names['powder']}, the factors are of {material}"
        raise InputError(what, field="job", value=job, remedy="Name a job in that powder that was sintered.")
    spread = bodies.get(book, done.bed)
    words = StatedConditions(
        binder=names["binder"], head=names["head"], box=names["box"], furnace=names["furnace"]
    )
    used = _cell(material, words)
    choices = Choices(layer_um=plan.layers.thickness_um, saturation=plan.drops.saturation_asked_percent / 100)
    found = _present(dataclasses.replace(used, powder=spread.powder), choices, f"the conditions of job {job}")
    return dataclasses.replace(found, lot=spread.lot)


def of_readings(book: Ledger, measured: Sequence[Reading], material: str) -> Conditions | None:
    """Conditions of the job that most of the readings come from, with lot, furnace and density as measured.

    Returns
    -------
    Conditions or None
        None where no box was booked from a job.

    Raises
    ------
    InputError
        As of `of_job`.
    """
    planned = boxes.jobs_of(book)
    of = Counter(planned[reading.box] for reading in measured if reading.box in planned)
    if not of:
        return None
    (job, _), *others = of.most_common()
    conditions = of_job(book, job, material)
    more = f"; readings of {len(others)} other jobs are among them" if others else ""
    lots = {reading.lot for reading in measured if reading.lot}
    if len(lots) > 1:
        more += f"; of {len(lots)} lots"
    furnaces = {reading.furnace for reading in measured if reading.furnace}
    weighed = _density(measured, material)
    density, u = weighed or (conditions.density, conditions.density_u)
    return dataclasses.replace(
        conditions,
        basis=f"{conditions.basis}{more}",
        lot=next(iter(lots)) if len(lots) == 1 else "" if lots else conditions.lot,
        furnace=next(iter(furnaces)) if len(furnaces) == 1 else conditions.furnace,
        density=density,
        density_u=u,
        density_from="measured" if weighed else conditions.density_from,
    )


def _density(measured: Sequence[Reading], material: str) -> tuple[float, float] | None:
    """Relative density of sintered pieces, where it was measured: its mean, and the doubt of that."""
    solid = cards.load("powder", material, card_folders()).solid_density
    weighed = [one for one in measured if (one.kind, one.state) == ("density", "sintered")]
    if not weighed:
        return None
    mean = sum(one.value for one in weighed) / len(weighed)
    shared = sum(one.u_shared for one in weighed) / len(weighed)
    alone = chance.combined([one.u for one in weighed]) / len(weighed)
    u = chance.combined((alone / mean, shared / mean, solid.u / solid.value))
    return mean / solid.value, u * mean / solid.value


def _present(cell: Cell, choices: Choices, basis: str, words: StatedConditions | None = None) -> Conditions:
    """Of a cell; the density is the card's where nothing is said that would change it, else as foretold."""
    assert cell.furnace is not None and cell.powder.sintering is not None
    stated = cell.powder.sintering.sintered_density
    by_card = words is not None and not (words.lot or words.furnace or words.hotter)
    if by_card:
        course = Foretold(
            density=stated.value, density_u=stated.u, volume=1.0, volume_draws=NONE, density_draws=NONE
        )
    else:
        course = sinter.foretell(cell.powder, cell.furnace)
    of = shrink.present(cell, choices, course)
    return dataclasses.replace(of, basis=basis, density_from="card" if by_card else "law")


def _measured(of: Conditions, words: StatedConditions) -> Conditions:
    """With the densities that a person says were measured, which count as exact as a good weighing is."""
    green, density = words.green_density, words.density
    return dataclasses.replace(
        of,
        green_density=of.green_density if green is None else green,
        green_density_u=of.green_density_u if green is None else WEIGHED_U,
        density=of.density if density is None else density,
        density_u=of.density_u if density is None else WEIGHED_U,
        density_from=of.density_from if density is None else "measured",
    )


def _cell(material: str, words: StatedConditions) -> Cell:
    """The cards as said, else the usual ones that fit the powder."""
    folders, usual = card_folders(), cards.DEFAULTS
    powder = cards.load("powder", material, folders)
    law = powder.sintering
    if law is not None:
        law = dataclasses.replace(law, programme=_programme(law.programme, words))
        powder = dataclasses.replace(powder, sintering=law)
    return Cell(
        powder=powder,
        binder=cards.load("binder", words.binder or _binder(powder), folders),
        head=cards.load("head", words.head or usual.head, folders),
        box=cards.load("box", words.box or usual.box, folders),
        oven=cards.load("oven", usual.oven, folders),
        furnace=cards.load("furnace", words.furnace or _usual_furnace(powder), folders) if law else None,
        shop=cards.load("shop", usual.shop, folders),
    )


def _programme(usual: tuple[Segment, ...], words: StatedConditions) -> tuple[Segment, ...]:
    """The card's programme with another peak, hold, rate or gas there."""
    peak = max(usual, key=lambda stretch: stretch.target)
    other = dataclasses.replace(
        peak,
        target=peak.target if words.peak is None else words.peak,
        hold=peak.hold if words.hold is None else words.hold,
        rate=peak.rate if words.rate is None else words.rate,
        atmosphere=words.atmosphere or peak.atmosphere,
    )
    return tuple(other if stretch is peak else stretch for stretch in usual)


def _binder(powder: Powder) -> str:
    folders = card_folders()
    names = [cards.DEFAULTS.binder, *cards.names("binder", folders)]
    return next(name for name in names if powder.kind in cards.load("binder", name, folders).fits)


def _usual_furnace(powder: Powder) -> str:
    """The usual furnace if it can run the powder's programme, else the first that can."""
    folders, law = card_folders(), powder.sintering
    if law is None:
        return ""
    gases, peak = {each.atmosphere for each in law.programme}, max(each.target for each in law.programme)
    for name in (cards.DEFAULTS.furnace, *cards.names("furnace", folders)):
        furnace = cards.load("furnace", name, folders)
        if gases <= set(furnace.atmospheres) and peak <= furnace.temperature.value:
            return name
    return cards.DEFAULTS.furnace


def _furnace(name: str) -> Furnace | None:
    """The card of the furnace that factors were measured in; None if there is none by now."""
    try:
        return cards.load("furnace", name, card_folders())
    except CardError:
        return None
