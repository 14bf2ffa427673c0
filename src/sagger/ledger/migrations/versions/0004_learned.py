"""What was proposed and approved beside factors: maps of the bed and scatter."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "learned",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("entry", sa.Integer, sa.ForeignKey("entry.id"), nullable=False, index=True),
        sa.Column("kind", sa.String(10), nullable=False, index=True),
        sa.Column("material", sa.String(80), nullable=False),
        sa.Column("box", sa.String(80), nullable=False),
        sa.Column("body", sa.String(32), sa.ForeignKey("body.digest"), nullable=False),
    )
