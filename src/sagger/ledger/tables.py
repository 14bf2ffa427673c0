"""The tables. Facts get columns, bodies are JSON by digest, arrays are files named by digest.

Nothing is edited but the state of a job while it runs; a correction is a new row that names the old one.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Float, ForeignKey, Integer, MetaData, String, Table, Text

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = MetaData(naming_convention=NAMES)

body = Table(
    "body",
    metadata,
    Column("digest", String(32), primary_key=True),
    Column("json", Text, nullable=False),
)

job = Table(
    "job",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(200), nullable=False),
    Column("order_digest", String(32), nullable=False, index=True),
    Column("folder", Text, nullable=False),
    Column("state", String(12), nullable=False),  # running, done, stopped, cancelled, failed, interrupted
    Column("process", Integer, nullable=False),
    Column("process_began", String(40), nullable=False),
    Column("began", String(40), nullable=False),
    Column("ended", String(40), nullable=False, server_default=""),
    Column("edition", String(20), nullable=False),
    Column("start", String(40), nullable=False),
    Column("message", Text, nullable=False, server_default=""),
    Column("plan_digest", String(32), ForeignKey("body.digest"), nullable=True),
)

work = Table(
    "work",
    metadata,
    Column("key", String(32), primary_key=True),
    Column("verb", String(120), nullable=False),
    Column("edition", String(20), nullable=False),
    Column("inputs", Text, nullable=False),  # JSON list of digests
    Column("output", String(32), ForeignKey("body.digest"), nullable=False),
    Column("began", String(40), nullable=False),
    Column("seconds", Float, nullable=False),
)

use = Table(
    "use",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("job", Integer, ForeignKey("job.id"), nullable=False, index=True),
    Column("key", String(32), ForeignKey("work.key"), nullable=False),
    Column("remembered", Boolean, nullable=False),
)

factors = Table(
    "factors",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("material", String(80), nullable=False, index=True),
    Column("lot", String(80), nullable=False, server_default=""),
    *(Column(f"{name}_{axis}", Float, nullable=False) for name in ("k", "u") for axis in "xyz"),
    Column("person", String(80), nullable=False),
    Column("reason", Text, nullable=False),
    Column("approved", String(40), nullable=False),
    Column("replaces", Integer, ForeignKey("factors.id"), nullable=True),
)
