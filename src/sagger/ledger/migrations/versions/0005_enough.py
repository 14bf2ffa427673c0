"""A job says that it only makes a good answer better, and hears that what it has will do."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.add_column("job", sa.Column("improving", sa.Boolean, nullable=False, server_default=sa.false()))
    op.add_column("job", sa.Column("enough", sa.Boolean, nullable=False, server_default=sa.false()))
