"""Approved oversize factors as sentences."""

from __future__ import annotations

from collections.abc import Sequence

from sagger.goods.factors import Conditions
from sagger.goods.record import FactorsApproval
from sagger.units import into
from sagger.views.wording import share


def holding(approvals: Sequence[FactorsApproval]) -> list[bool]:
    """Whether each holds: of its powder and lot the newest that was not withdrawn; they come newest first."""
    first: dict[tuple[str, str], int] = {}
    for row in approvals:
        if not row.withdrawn:
            first.setdefault((row.material, row.lot), row.id)
    return [first.get((row.material, row.lot)) == row.id for row in approvals]


def whose(row: FactorsApproval) -> str:
    """Powder, and lot if it is for that alone."""
    return f"{row.material}, lot {row.lot}" if row.lot else row.material


def state(row: FactorsApproval, holds: bool) -> str:
    """Whether an approval is in force."""
    if row.withdrawn:
        return "withdrawn"
    return "in force" if holds else "replaced"


def lines(row: FactorsApproval, holds: bool) -> list[str]:
    """An approval: sizes, who and why, whether it holds."""
    sizes = zip("xyz", row.k, row.u, strict=True)
    k = "  ".join(f"{axis} {size:.5f} ± {u:.5f}" for axis, size, u in sizes)
    words = [f"{row.id:>4}  {whose(row)}  {k}  {row.person}, {row.approved}: {row.reason}"]
    words.append(f"      {state(row, holds)}{f' by {row.withdrawn}' if row.withdrawn else ''}")
    return words + [f"      {line}" for line in under(row.conditions)]


def under(of: Conditions | None) -> list[str]:
    """What factors were measured under."""
    if of is None:
        return ["measured under the usual conditions of the cards (nobody said under what)"]
    lot = f"lot {of.lot}" if of.lot else "no lot named"
    return [
        f"measured under {of.basis}",
        f"{of.powder}, {lot}, green density {share(of.green_density)}, d50 {into(of.grain, 'um'):.3g} µm; "
        f"layers {into(of.layer, 'um'):.3g} µm, {of.binder} at saturation {share(of.saturation, 0)}, "
        f"{of.head}, {of.box}",
        f"{of.furnace}: {programme(of)}; density reached {share(of.density)} "
        f"(standard uncertainty {share(of.density_u)})",
    ]


def programme(of: Conditions) -> str:
    """Peak, hold, rate and gas of the furnace programme."""
    peak = max(of.programme, key=lambda stretch: stretch.target)
    hold = sum(stretch.hold for stretch in of.programme if stretch.target == peak.target)
    return (
        f"{into(hold, 'min'):.4g} min at {into(peak.target, 'degC'):.4g} °C, "
        f"{into(peak.rate, 'K/min'):.3g} K/min, {peak.atmosphere}"
    )
