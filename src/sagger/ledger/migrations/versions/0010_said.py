"""The text of each body has a digest of its own.

Its name is the digest of the good that it stands for. A good whose fields are others by now cannot be made
again, so of such a text nothing could be said. What stands in the ledger today is taken as it is.
"""

import hashlib

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    op.add_column("body", sa.Column("said", sa.String(32), nullable=False, server_default=""))
    connection = op.get_bind()
    change = sa.text("UPDATE body SET said = :said WHERE digest = :digest")
    for name in connection.execute(sa.text("SELECT digest FROM body")).scalars().all():
        query = sa.text("SELECT json FROM body WHERE digest = :digest")
        text = str(connection.execute(query, {"digest": name}).scalar())
        said = hashlib.blake2b(text.encode(), digest_size=16).hexdigest()
        connection.execute(change, {"said": said, "digest": name})
