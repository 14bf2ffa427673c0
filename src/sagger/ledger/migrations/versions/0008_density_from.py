"""Conditions of factors say whether the density reached was measured, of the card, or foretold."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    op.add_column(
        "conditions", sa.Column("density_from", sa.String(10), nullable=False, server_default="law")
    )
