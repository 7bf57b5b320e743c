"""The ledger: predictions, what was measured afterwards, and lessons, one journal for each build that only grows."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

_SENTENCE = "an entry of the ledger is never changed or deleted"

_SQLITE_TRIGGERS = [
    "CREATE TRIGGER ledger_entries_are_not_changed BEFORE UPDATE ON ledger_entries "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    "CREATE TRIGGER ledger_entries_are_not_deleted BEFORE DELETE ON ledger_entries "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    # INSERT OR REPLACE deletes without asking the trigger above, unless the program that does it has asked for that.
    "CREATE TRIGGER ledger_entries_are_not_replaced BEFORE INSERT ON ledger_entries "
    "WHEN EXISTS (SELECT 1 FROM ledger_entries WHERE id = NEW.id "
    "OR (build_id = NEW.build_id AND number = NEW.number)) "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
]

_POSTGRESQL_TRIGGERS = [
    "CREATE TRIGGER ledger_entries_are_not_changed BEFORE UPDATE OR DELETE ON ledger_entries "
    "FOR EACH ROW EXECUTE FUNCTION refuse_to_change_history()",
    "CREATE TRIGGER ledger_entries_are_not_emptied BEFORE TRUNCATE ON ledger_entries "
    "FOR EACH STATEMENT EXECUTE FUNCTION refuse_to_change_history()",
]


def upgrade() -> None:
    """Make the table and what guards it."""
    op.create_table(
        "ledger_entries",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("revision_number", sa.Integer),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.UniqueConstraint("build_id", "number"),
        sa.ForeignKeyConstraint(["build_id", "revision_number"], ["revisions.build_id", "revisions.number"]),
        sa.CheckConstraint("number >= 1", name="numbers_count_from_1"),
        sa.CheckConstraint("made_at LIKE '____-__-__T__:__:__.______Z'", name="made_at_is_utc"),
        sqlite_strict=True,
    )
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    for trigger in _SQLITE_TRIGGERS if on_sqlite else _POSTGRESQL_TRIGGERS:
        op.execute(trigger)
