"""A job, or one of its goods, as plan.json has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sagger.goods.caution import Caution
from sagger.goods.job import Job
from sagger.goods.order import Order
from sagger.goods.part import Part
from sagger.views.plan.fields import table_of
from sagger.views.plan.parts import PART, PlannedPart
from sagger.views.plan.whole import PLAN, REFUSED, PlannedJob, RefusedJob, WeakFigure


def document(
    job: Job,
    cautions: Sequence[Caution],
    weak: Sequence[WeakFigure],
    sources: Mapping[str, str],
    edition: str,
) -> dict[str, Any]:
    """plan.json of a whole job.

    Parameters
    ----------
    job : Job
        As the line leaves it.
    cautions : sequence of Caution
        The ones that material and route call for.
    weak : sequence of 5 texts each
        Figures that rest on memory or assumption: card, figure, as printed, standing, source.
    sources : mapping
        Source key to full reference, of the cards used.
    edition : str
        Of the program.

    Returns
    -------
    dict
        Plain texts, numbers, lists and mappings, as `schema` describes.
    """
    return PLAN.document(PlannedJob(job, cautions, weak, sources, edition))


def refused(order: Order, parts: tuple[Part, ...], edition: str) -> dict[str, Any]:
    """plan.json of a job that intake stopped: parts and findings only."""
    return REFUSED.document(RefusedJob(order, parts, edition))


def part(part: Part, index: int = 0) -> dict[str, Any]:
    """One part as plan.json shows it, before compensation."""
    return PART.document(PlannedPart(part, index))


def of(good: Any) -> dict[str, Any]:
    """One good (a finding, a box in the oven, a furnace run) as plan.json shows it."""
    kind: type = type(good)
    return table_of(kind).document(good)
