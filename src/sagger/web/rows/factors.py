"""Approved oversize factors: which are in force, how they moved, and what is typed to approve new ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from markupsafe import Markup

from sagger.errors import InputError
from sagger.goods.record import FactorsApproval
from sagger.views.charts import factor_charts
from sagger.views.wording import moment
from sagger.views.words import factors as view
from sagger.web import markup

AXES = "xyz"
NOTE = (
    "<p>An oversize factor is green length over finished length along a machine axis. The newest "
    "approval of a powder holds for every job from then on; until there is one, factors come "
    "from the powder card. Each was measured under conditions of its own; in a job under others the plan "
    "says by how much sizes shift.</p>"
)
HEAD = ("Entry", "Powder", "x", "y", "z", "Holds", "Approved by", "On, UTC", "From", "Measured under")
UNDER = {
    "job": "measured on pieces of job (its plan says the rest)",
    "lot": "powder lot measured on",
    "layer": "layer, such as 50 um",
    "saturation": "saturation, such as 70 %",
    "binder": "binder card",
    "head": "head card",
    "box": "box card",
    "furnace": "furnace card",
    "peak": "peak, such as 1360 degC",
    "hold": "hold at the peak, such as 60 min",
    "rate": "rate up to the peak, such as 5 K/min",
    "atmosphere": "gas at the peak",
    "green_density": "green density, such as 55.0 %",
    "density": "density reached, such as 96.5 %",
}
LABELS = {f"k_{axis}": f"factor along {axis}, such as 1.1912" for axis in AXES} | {
    f"u_{axis}": f"its standard uncertainty along {axis}" for axis in AXES
}

Triple = tuple[float, float, float]


def approved(approvals: Sequence[FactorsApproval]) -> Markup:
    """Every approval, newest first, and which hold."""
    if not approvals:
        return Markup("<p>None is approved yet.</p>")
    rows = [approval_row(row, holds) for row, holds in zip(approvals, view.holding(approvals), strict=True)]
    return markup.table(HEAD, rows, "Approved factors")


def held(approvals: Sequence[FactorsApproval]) -> dict[int, str]:
    """Approvals that may be withdrawn, in words by their entry: those that are not yet."""
    return {row.id: f"entry {row.id}, {view.whose(row)}" for row in approvals if not row.withdrawn}


def approval_row(row: FactorsApproval, holds: bool) -> tuple[object, ...]:
    """One approval under `HEAD`."""
    sizes = [f"{k:.4f} ± {u:.4f}" for k, u in zip(row.k, row.u, strict=True)]
    word = f"withdrawn by {row.withdrawn}" if row.withdrawn else view.state(row, holds)
    return row.id, view.whose(row), *sizes, word, row.person, moment(row.approved), row.reason, under(row)


def under(row: FactorsApproval) -> Markup:
    """What factors were measured under, a line each."""
    return Markup("<br>").join(view.under(row.conditions))


def over_time(approvals: Sequence[FactorsApproval]) -> Markup:
    """A chart along each axis for each powder or lot whose factors were approved more than once."""
    parts = []
    for name, versions in factor_charts.series(approvals):
        drawn = Markup("").join(chart(versions, axis) for axis in AXES)
        words = markup.items(factor_charts.words(versions))
        block = '<h2>Factors over time, {}</h2><div class="charts">{}</div>{}'
        parts.append(Markup(block).format(name, drawn, words))
    return Markup("").join(parts)


def chart(versions: Sequence[FactorsApproval], axis: str) -> Markup:
    """Factors along one axis over time."""
    block = '<div class="chart" role="img" aria-label="factor along {} over time">{}</div>'
    return Markup(block).format(axis, Markup(factor_charts.chart(versions, axis)))


def typed(entries: Mapping[str, str]) -> tuple[Triple, Triple]:
    """Factors and their uncertainties along x, y, z, of fields by the keys of `LABELS`."""
    k, u = ([_number(f"{kind}_{axis}", entries) for axis in AXES] for kind in "ku")
    return (k[0], k[1], k[2]), (u[0], u[1], u[2])


def _number(key: str, entries: Mapping[str, str]) -> float:
    text = entries[key]
    try:
        return float(text.replace(",", "."))
    except ValueError:
        field = LABELS[key].partition(",")[0]
        raise InputError("a number is needed", field=field, value=text, remedy="Write 1.1912.") from None


def stated(entries: Mapping[str, str]) -> tuple[dict[str, str], int | None]:
    """Conditions as typed by the keys of `UNDER`, and the job that says them all."""
    job = entries.get("job", "").strip()
    if job and not job.isdigit():
        raise InputError(
            "a job has a number", field=UNDER["job"], value=job, remedy="Write it alone, such as 12."
        )
    return {key: text for key, text in entries.items() if key != "job"}, int(job) if job else None
