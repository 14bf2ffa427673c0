"""A plan made by hand, as plan.json holds it, and changed copies of it."""

from functools import partial

import pytest

from job_goods import a_job
from records import altered_plan, read_plan
from sagger.views import plan as plan_view

WEAK = [("powder", "d50", "16 um", "memory", "hand"), ("oven", "ambient", "25 degC", "assumed", "hand")]


@pytest.fixture(scope="session")
def document():
    """plan.json of the job made by hand."""
    return plan_view.document(a_job(), (), WEAK, {}, "0")


@pytest.fixture(scope="session")
def plan(document):
    return read_plan(document)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """An empty shop, which the pages of a module's tests show."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("shop")
        patch.setenv("SAGGER_HOME", str(folder))
        patch.setenv("NICEGUI_STORAGE_PATH", str(folder / "bench"))
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        yield folder


@pytest.fixture
def altered(document):
    """A plan of its own with one value replaced."""
    return partial(altered_plan, document)
