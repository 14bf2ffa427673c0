"""Jobs, works and their use, bodies, approved factors."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    _jobs()
    _works()
    op.create_table(
        "factors",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("material", sa.String(80), nullable=False, index=True),
        sa.Column("lot", sa.String(80), nullable=False, server_default=""),
        *(sa.Column(f"{name}_{axis}", sa.Float, nullable=False) for name in ("k", "u") for axis in "xyz"),
        sa.Column("person", sa.String(80), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("approved", sa.String(40), nullable=False),
        sa.Column("replaces", sa.Integer, sa.ForeignKey("factors.id"), nullable=True),
    )


def _jobs() -> None:
    op.create_table(
        "body",
        sa.Column("digest", sa.String(32), primary_key=True),
        sa.Column("json", sa.Text, nullable=False),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("order_digest", sa.String(32), nullable=False, index=True),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("state", sa.String(12), nullable=False),
        sa.Column("process", sa.Integer, nullable=False),
        sa.Column("process_began", sa.String(40), nullable=False),
        sa.Column("began", sa.String(40), nullable=False),
        sa.Column("ended", sa.String(40), nullable=False, server_default=""),
        sa.Column("edition", sa.String(20), nullable=False),
        sa.Column("start", sa.String(40), nullable=False),
        sa.Column("message", sa.Text, nullable=False, server_default=""),
        sa.Column("plan_digest", sa.String(32), sa.ForeignKey("body.digest"), nullable=True),
    )


def _works() -> None:
    op.create_table(
        "work",
        sa.Column("key", sa.String(32), primary_key=True),
        sa.Column("verb", sa.String(120), nullable=False),
        sa.Column("edition", sa.String(20), nullable=False),
        sa.Column("inputs", sa.Text, nullable=False),
        sa.Column("output", sa.String(32), sa.ForeignKey("body.digest"), nullable=False),
        sa.Column("began", sa.String(40), nullable=False),
        sa.Column("seconds", sa.Float, nullable=False),
    )
    op.create_table(
        "use",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job", sa.Integer, sa.ForeignKey("job.id"), nullable=False, index=True),
        sa.Column("key", sa.String(32), sa.ForeignKey("work.key"), nullable=False),
        sa.Column("remembered", sa.Boolean, nullable=False),
    )
