"""Steps: what was edited at several places at once is undone and redone as one. Entries of before are steps alone."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Give each entry of a journal room for the number of the first entry of its step."""
    op.add_column("edits", sa.Column("step", sa.Integer, sa.CheckConstraint("step >= 1 AND step < number")))
