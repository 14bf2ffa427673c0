"""What a work gave, and what a version of an order is, have a digest of their own.

A job's works are sealed when it ends; those of a job that was killed are used again before that. What stands
in the ledger today is taken as it is.
"""

import hashlib
import json

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
COVERED = {
    "work": ("key", "verb", "edition", "inputs", "output"),
    "version": ("id", "thread", "number", "parent", "name", "folder", "changes", "person", "made"),
}


def upgrade() -> None:
    connection = op.get_bind()
    for table, columns in COVERED.items():
        op.add_column(table, sa.Column("said", sa.String(32), nullable=False, server_default=""))
        rows = connection.execute(sa.text(f"SELECT {', '.join(columns)} FROM {table}")).all()
        change = sa.text(f"UPDATE {table} SET said = :said WHERE {columns[0]} = :first")
        for row in rows:
            said = hashlib.blake2b(json.dumps(list(row)).encode(), digest_size=16).hexdigest()
            connection.execute(change, {"said": said, "first": row[0]})
