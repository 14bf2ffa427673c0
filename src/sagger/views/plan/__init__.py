"""plan.json: a job as one document, in the trade's units, documented and versioned."""

from sagger.views.plan.manual import manual as manual
from sagger.views.plan.write import document as document
from sagger.views.plan.write import part as part
from sagger.views.plan.write import refused as refused
from sagger.views.plan.write import schema as schema

__all__ = ["document", "manual", "part", "refused", "schema"]
