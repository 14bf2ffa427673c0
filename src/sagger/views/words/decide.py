"""The one thing about a job that a person has to decide next."""

from __future__ import annotations

from typing import NamedTuple

from sagger.goods.planned import Plan, PlanFinding, RefusedPlan
from sagger.goods.record import JobRecord, PlanApproval
from sagger.views.wording import moment

DUE = "due date"  # the finding of a part that was asked for by a day
WANTED = 90.0  # chance below which a size is worth a word before approval [%]


class Decision(NamedTuple):
    """What is to be decided, why, and what the person can do."""

    words: str
    why: str
    acts: tuple[str, ...]  # of "stop", "enough", "go on", "change", "approve"
    waits: bool  # whether it is a person who must act


def decision(row: JobRecord, plan: Plan | None, approval: PlanApproval | None) -> Decision:
    """What comes next for a job.

    Parameters
    ----------
    row : JobRecord
        The job as the ledger knows it.
    plan : Plan or None
        Once there is one.
    approval : PlanApproval or None
        Who approved it, and when.
    """
    return on_state(row, approval, planned(plan) if plan is not None else None)


def on_state(row: JobRecord, approval: PlanApproval | None, of_plan: Decision | None) -> Decision:
    """What comes next for a job, `of_plan` being what its plan asks for once there is one."""
    state = row.state
    if state == "running" and row.improving:
        why = "It goes on by itself. Say that the height is enough, and planning goes on with the best nest."
        return Decision("Nothing to decide: the nest is being made lower", why, ("enough", "stop"), False)
    if state in ("waiting", "running"):
        waits = "Nothing to decide: it waits for another job"
        words = waits if state == "waiting" else "Nothing to decide yet"
        return Decision(words, "Planning goes on without this page.", ("stop",), False)
    if state in ("cancelled", "interrupted"):
        how = "you stopped it" if state == "cancelled" else "its process ended before its time"
        why = f"What was finished is kept: {how}, and it goes on from there."
        return Decision("Go on with planning, or change something first", why, ("go on", "change"), True)
    if state == "failed":
        return Decision("Mend what was refused", row.message, ("change", "go on"), True)
    if state == "stopped" and of_plan is None:
        return Decision("Change it: it cannot be made as it is asked", row.message, ("change",), True)
    if of_plan is None:
        return Decision("Plan it again: there is no plan", row.message, ("go on",), True)
    if approval:
        when = moment(approval.made)
        why = f"{approval.person} approved it on {when}. {approval.note}".strip()
        return Decision("Print it: the traveller and the layers are ready", why, (), False)
    return of_plan


def planned(plan: Plan) -> Decision:
    """What a plan asks for: a stop, a late date, a doubtful size, a finding to look at, in this order."""
    stops = [finding for finding in plan.findings if finding.level == "stop"]
    if stops:
        return Decision(f"Change it: {stops[0].what}", _why(stops[0]), ("change",), True)
    pressing = _late(plan) or _doubtful(plan)
    if pressing:
        return pressing
    looks = [finding for finding in plan.findings if finding.level == "look"]
    if looks:
        more = f" ({len(looks)} findings ask for a look)" if len(looks) > 1 else ""
        words = f"Look at this before you approve: {looks[0].what}{more}"
        return Decision(words, _why(looks[0]), ("change", "approve"), True)
    why = "No step found anything to look at."
    return Decision("Approve it for printing", why, ("change", "approve"), True)


def _late(plan: Plan) -> Decision | None:
    """The first part that comes late, if one does."""
    late = (each for each in plan.findings if each.what == DUE and each.level == "look")
    first = next(late, None)
    if first is None:
        return None
    return Decision("Is it enough that it comes late?", _why(first), ("change", "approve"), True)


def _doubtful(plan: Plan) -> Decision | None:
    """The least certain size, if its chance is worth a word."""
    if isinstance(plan, RefusedPlan):
        return None
    promises = plan.quote.promises
    least = min(promises, key=lambda promise: promise.chance_percent, default=None)
    if least is None or least.chance_percent >= WANTED:
        return None
    part = plan.parts[least.part]
    words = (
        f"Is a chance of {least.chance_percent:.0f} % enough for "
        f"{part.name}, {least.dimension} {least.nominal_mm:.2f} mm?"
    )
    why = f"Most of the doubt is {least.shares[0].name}. Approve it as it is, or change something."
    return Decision(words, why, ("change", "approve"), True)


def _why(finding: PlanFinding) -> str:
    return f"{finding.text} {finding.remedy}".strip()
