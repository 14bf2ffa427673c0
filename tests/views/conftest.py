"""The job made by hand, as fixtures."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from job_goods import a_job
from sagger.goods.job import Job


@pytest.fixture(scope="session")
def job() -> Job:
    return a_job()


@pytest.fixture(scope="session")
def make_job() -> Callable[..., Job]:
    """`a_job`, for tests that need another one."""
    return a_job
