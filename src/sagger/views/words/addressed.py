"""Whom a paper is for, as its head says it."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.planned import WholePlan


def reference(plan: WholePlan) -> Iterator[tuple[str, str]]:
    """The customer's own reference, and what the shop calls the order; what was not said is left out."""
    if plan.order.reference:
        yield "your reference", plan.order.reference
    yield "order", plan.order.name
