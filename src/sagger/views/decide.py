"""The one thing about a job that a person has to decide next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from sagger.views.wording import moment

WANTED = 90.0  # chance below which a size is worth a word before approval [%]


class Decision(NamedTuple):
    """What is to be decided, why, and what the person can do."""

    words: str
    why: str
    acts: tuple[str, ...]  # of "stop", "enough", "go on", "change", "approve"
    waits: bool  # whether it is a person who must act


def decision(
    row: Mapping[str, Any], plan: Mapping[str, Any] | None, approval: Mapping[str, Any] | None
) -> Decision:
    """What comes next for a job.

    Parameters
    ----------
    row : mapping
        The job as the ledger knows it.
    plan : mapping or None
        Its plan.json, once there is one.
    approval : mapping or None
        Who approved it, and when.
    """
    state = row["state"]
    if state == "running" and row["improving"]:
        why = "It goes on by itself. Say that the height is enough, and planning goes on with the best nest."
        return Decision("Nothing to decide: the nest is being made lower", why, ("enough", "stop"), False)
    if state in ("waiting", "running"):
        words = (
            "Nothing to decide: it waits for another job" if state == "waiting" else "Nothing to decide yet"
        )
        return Decision(words, "Planning goes on without this page.", ("stop",), False)
    if state in ("cancelled", "interrupted"):
        how = "you stopped it" if state == "cancelled" else "its process ended before its time"
        why = f"What was finished is kept: {how}, and it goes on from there."
        return Decision("Go on with planning, or change something first", why, ("go on", "change"), True)
    if state == "failed":
        return Decision("Mend what was refused", row["message"], ("change", "go on"), True)
    if state == "stopped" and plan is None:
        return Decision("Change it: it cannot be made as it is asked", row["message"], ("change",), True)
    if plan is None:
        return Decision("Plan it again: there is no plan", row["message"], ("go on",), True)
    if approval:
        when = moment(approval["made"])
        why = f"{approval['person']} approved it on {when}. {approval['note']}".strip()
        return Decision("Print it: the traveller and the layers are ready", why, (), False)
    return _planned(plan)


def _planned(plan: Mapping[str, Any]) -> Decision:
    stops = [each for each in plan["findings"] if each["level"] == "stop"]
    if stops:
        worst = stops[0]
        why = f"{worst['text']} {worst['remedy']}".strip()
        return Decision(f"Change it: {worst['what']}", why, ("change",), True)
    low = sorted(plan["quote"]["promises"], key=lambda each: each["chance_percent"])
    if low and low[0]["chance_percent"] < WANTED:
        least = low[0]
        part = plan["parts"][least["part"]]
        words = (
            f"Is a chance of {least['chance_percent']:.0f} % enough for "
            f"{part['name']}, {least['dimension']} {least['nominal_mm']:.2f} mm?"
        )
        why = f"Most of the doubt is {least['shares'][0]['name']}. Approve it as it is, or change something."
        return Decision(words, why, ("change", "approve"), True)
    looks = [each for each in plan["findings"] if each["level"] == "look"]
    if looks:
        why = f"{looks[0]['text']} {looks[0]['remedy']}".strip()
        more = f" ({len(looks)} findings ask for a look)" if len(looks) > 1 else ""
        return Decision(
            f"Look at this before you approve: {looks[0]['what']}{more}", why, ("change", "approve"), True
        )
    return Decision(
        "Approve it for printing", "No step found anything to look at.", ("change", "approve"), True
    )
