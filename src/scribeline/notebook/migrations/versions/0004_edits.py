"""The work in hand: each edit of it, undone and redone ones too, in a journal per build that only grows.

And the indexes with which a notebook of hundreds of builds and thousands of recordings stays quick to look through.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

_SENTENCE = "an edit is never changed or deleted"

_SQLITE_TRIGGERS = [
    f"CREATE TRIGGER edits_are_not_changed BEFORE UPDATE ON edits BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    f"CREATE TRIGGER edits_are_not_deleted BEFORE DELETE ON edits BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    # INSERT OR REPLACE deletes without asking the trigger above, unless the program that does it has asked for that.
    "CREATE TRIGGER edits_are_not_replaced BEFORE INSERT ON edits "
    "WHEN EXISTS (SELECT 1 FROM edits WHERE id = NEW.id OR (build_id = NEW.build_id AND number = NEW.number)) "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
]

_POSTGRESQL_TRIGGERS = [
    "CREATE TRIGGER edits_are_not_changed BEFORE UPDATE OR DELETE ON edits "
    "FOR EACH ROW EXECUTE FUNCTION refuse_to_change_history()",
    "CREATE TRIGGER edits_are_not_emptied BEFORE TRUNCATE ON edits "
    "FOR EACH STATEMENT EXECUTE FUNCTION refuse_to_change_history()",
]


def upgrade() -> None:
    """Make the table, what guards it, and the indexes."""
    op.create_table(
        "edits",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("of_number", sa.Integer),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("label", sa.Text, nullable=False),
        sa.Column("path", sa.Text, nullable=False),
        sa.Column("before", sa.Text),
        sa.Column("after", sa.Text),
        sa.UniqueConstraint("build_id", "number"),
        sa.ForeignKeyConstraint(["build_id", "of_number"], ["edits.build_id", "edits.number"]),
        sa.CheckConstraint("number >= 1", name="numbers_count_from_1"),
        sa.CheckConstraint("kind IN ('begin', 'edit', 'undo', 'redo')", name="kind_is_known"),
        sa.CheckConstraint("(number = 1) = (kind = 'begin')", name="the_first_begins"),
        sa.CheckConstraint("(of_number IS NULL) = (kind IN ('begin', 'edit'))", name="what_is_undone_is_named"),
        sa.CheckConstraint("of_number < number", name="what_is_undone_was_before"),
        sa.CheckConstraint("made_at LIKE '____-__-__T__:__:__.______Z'", name="made_at_is_utc"),
        sqlite_strict=True,
    )
    op.create_index("trials_of_build", "trials", ["build_id"])
    op.create_index("trial_entries_last", "trial_entries", ["trial_id", "made_at"])
    op.create_index("trial_entries_of_kind", "trial_entries", ["kind", "made_at", "number"])
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    for trigger in _SQLITE_TRIGGERS if on_sqlite else _POSTGRESQL_TRIGGERS:
        op.execute(trigger)
