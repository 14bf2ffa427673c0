"""What a person is told where approved factors meet other conditions than they were measured under."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from sagger.goods.factors import Carried
from sagger.goods.finding import Against, Finding, advice, ok, risk
from sagger.goods.part import Part
from sagger.stations.shrink.balance import balance
from sagger.statistics import chance

TITLE = "factors under other conditions"
LAW = "balance of mass with the law of densification"
HAIR = 2e-5  # relative: a length that moves less than this is not worth a word about its size


class LargestSize(NamedTuple):
    """The longest overall size of the parts, and how it moves."""

    words: str
    size_mm: float
    moved_mm: float
    u_mm: float


def noticed(carried: Carried, parts: tuple[Part, ...]) -> Iterator[Finding]:
    """How the conditions differ and by how much on the largest size; whether the balance of mass holds."""
    weighed = balance(carried.approved)
    if weighed.level != "ok":
        yield weighed
    largest = _largest(carried, parts)
    if not carried.differs:
        yield ok(TITLE, f"{_since(carried)} Nothing is known to differ in this job.{_lots(carried, largest)}")
    elif carried.printed == "carried":
        yield _printed(carried, largest)
    else:
        yield _off(carried, largest)


def _printed(carried: Carried, largest: LargestSize) -> Finding:
    return advice(
        TITLE,
        f"{_since(carried)} This job has {_list(carried)}. It prints with factors carried to that, "
        f"{_factors(carried.factors.k)} in place of the approved {_factors(carried.approved.k)}: "
        f"{-largest.moved_mm:+.3f} mm on {largest.words}, by the law (u {largest.u_mm:.3f} mm)."
        f"{_untold(carried)}{_lots(carried, largest)}",
        Against(abs(largest.moved_mm), None, "mm", LAW),
        "Measure coupons made under these conditions and approve what they say.",
    )


def _off(carried: Carried, largest: LargestSize) -> Finding:
    shifted = bool(np.max(np.abs(carried.shift - 1)) > HAIR)
    size = "larger" if largest.moved_mm > 0 else "smaller"
    moved = (
        f"By the law lengths come out {abs(largest.moved_mm) / largest.size_mm:.2%} {size}: "
        f"{largest.moved_mm:+.3f} mm on {largest.words} (u {largest.u_mm:.3f} mm). "
        f"Right in this job would be {_factors(carried.factors.k)}; "
        f"it prints with {_factors(carried.approved.k)}, as approved."
        if shifted
        else "By the law lengths stay as they are."
    )
    remedy = 'Print with factors = "carried" in [choices], or measure coupons made under these conditions.'
    return risk(
        TITLE,
        f"{_since(carried)} This job has {_list(carried)}. {moved}"
        f"{_untold(carried)}{_lots(carried, largest)}",
        Against(abs(largest.moved_mm), 0.0, "mm", LAW),
        remedy if shifted else "Measure coupons made under these conditions and approve what they say.",
    )


def _since(carried: Carried) -> str:
    return f"The approved factors were measured under {carried.then.basis}."


def _list(carried: Carried) -> str:
    return "; ".join(carried.differs)


def _untold(carried: Carried) -> str:
    if not carried.u_untold:
        return ""
    return (
        " What layer, binder, saturation, head or box change no law tells here; "
        f"{carried.u_untold:.2%} of a length is counted for it (assumed, as much as lots differ)."
    )


def _lots(carried: Carried, largest: LargestSize) -> str:
    if not carried.u_lot:
        return ""
    basis = "readings of this shop" if carried.lot_basis == "readings" else "assumed on the powder card"
    return (
        f" From lot to lot a length differs by {carried.u_lot:.2%} ({basis}), "
        f"{carried.u_lot * largest.size_mm:.3f} mm there."
    )


def _largest(carried: Carried, parts: tuple[Part, ...]) -> LargestSize:
    """A coupon is made to be measured; its size counts only where there is nothing else."""
    asked = [part for part in parts if not part.request.held] or list(parts)
    part = max(asked, key=lambda one: max(one.extent_mm))
    along = int(np.argmax(part.extent_mm))
    size = float(part.extent_mm[along])
    machine = int(np.argmax(np.abs(part.turns[0][:, along])))
    off = float(carried.shift[machine]) - 1
    u = chance.combined((float(carried.u_shift[machine]), carried.u_untold))
    return LargestSize(f"{size:.3g} mm of {part.request.name}", size, size * off, size * u)


def _factors(k: np.ndarray) -> str:
    return "  ".join(f"{axis} {value:.4f}" for axis, value in zip("xyz", k, strict=True))
