"""Records of the ledger, and plans read again, as tests of pages and words need them."""

import copy

from sagger.goods.plain import restored
from sagger.goods.planned import RefusedPlan, WholePlan
from sagger.goods.record import FactorsApproval, JobRecord, PlanApproval


def job_record(**changes):
    """A job that came to its end."""
    facts = {"id": 1, "name": "a job", "order_digest": "", "folder": "", "state": "done", "host": ""}
    facts |= {"process": 0, "process_began": "", "began": "", "ended": "", "edition": "", "start": ""}
    facts |= {"message": "", "plan_digest": None, "version": None, "person": "", "step": "", "doing": ""}
    facts |= {"done": 0, "total": 0, "stop": False, "improving": False, "enough": False}
    return JobRecord(**(facts | changes))


def plan_approval(person, made, note=""):
    return PlanApproval(id=1, job=1, plan_digest="0" * 32, person=person, note=note, made=made)


def factors_approval(number, material, k, u, lot="", **changes):
    return FactorsApproval(
        id=number, material=material, lot=lot, k=k, u=u, person="Ann", reason="coupons",
        approved="2027-01-02T03:04", replaces=None, **changes,
    )  # fmt: skip


def read_plan(document):
    """The plan that plan.json holds."""
    return restored(WholePlan if document["state"] == "planned" else RefusedPlan, document)


def altered_plan(document, value, *path):
    """The plan with one value of plan.json replaced."""
    other = at = copy.deepcopy(document)
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    return read_plan(other)
