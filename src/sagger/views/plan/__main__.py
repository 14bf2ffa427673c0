"""`python -m sagger.views.plan FOLDER` writes plan.md and plan.schema.json there."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from sagger.views.plan.manual import manual
from sagger.views.plan.schema import schema

folder = Path(sys.argv[1])
(folder / "plan.md").write_text(manual())
(folder / "plan.schema.json").write_text(json.dumps(schema(), indent=1, ensure_ascii=False) + "\n")
