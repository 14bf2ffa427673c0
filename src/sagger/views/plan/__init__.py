"""plan.json: a job as one document, in the trade's units, documented and versioned.

It is made of the described fields of the goods; docs/why/plan.md says how a figure is added.
"""

from sagger.views.plan.parts import green_extent as green_extent
from sagger.views.plan.write import document as document
from sagger.views.plan.write import of as of
from sagger.views.plan.write import part as part
from sagger.views.plan.write import refused as refused

__all__ = ["document", "green_extent", "of", "part", "refused"]
