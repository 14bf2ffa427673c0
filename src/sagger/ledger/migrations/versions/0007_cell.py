"""The book of a cell: orders, promises, events and accepted plans."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.create_table(
        "cell",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("entry", sa.Integer, sa.ForeignKey("entry.id"), nullable=False, index=True),
        sa.Column("kind", sa.String(10), nullable=False, index=True),
        sa.Column("name", sa.String(200), nullable=False, index=True),
        sa.Column("body", sa.String(32), sa.ForeignKey("body.digest"), nullable=False),
    )
