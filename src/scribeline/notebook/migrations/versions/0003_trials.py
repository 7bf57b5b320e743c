"""Trials: each a journal that only grows. What was added, dropped, corrected or chosen stays readable for good."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_SENTENCE = "an entry of a trial is never changed or deleted"

_SQLITE_TRIGGERS = [
    "CREATE TRIGGER trial_entries_are_not_changed BEFORE UPDATE ON trial_entries "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    "CREATE TRIGGER trial_entries_are_not_deleted BEFORE DELETE ON trial_entries "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    # INSERT OR REPLACE deletes without asking the trigger above, unless the program that does it has asked for that.
    "CREATE TRIGGER trial_entries_are_not_replaced BEFORE INSERT ON trial_entries "
    "WHEN EXISTS (SELECT 1 FROM trial_entries WHERE id = NEW.id "
    "OR (trial_id = NEW.trial_id AND number = NEW.number)) "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
]

_POSTGRESQL_TRIGGERS = [
    "CREATE TRIGGER trial_entries_are_not_changed BEFORE UPDATE OR DELETE ON trial_entries "
    "FOR EACH ROW EXECUTE FUNCTION refuse_to_change_history()",
    "CREATE TRIGGER trial_entries_are_not_emptied BEFORE TRUNCATE ON trial_entries "
    "FOR EACH STATEMENT EXECUTE FUNCTION refuse_to_change_history()",
]


def upgrade() -> None:
    """Make the two tables and what guards the journal."""
    op.create_table(
        "trials",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id")),
        sa.Column("revision_number", sa.Integer),
        sa.Column("created_at", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(["build_id", "revision_number"], ["revisions.build_id", "revisions.number"]),
        sa.CheckConstraint("revision_number IS NULL OR build_id IS NOT NULL", name="revision_is_of_a_build"),
        sa.CheckConstraint("created_at LIKE '____-__-__T__:__:__.______Z'", name="created_at_is_utc"),
        sqlite_strict=True,
    )
    op.create_table(
        "trial_entries",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("trial_id", sa.Text, sa.ForeignKey("trials.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, sa.ForeignKey("contents.sha256")),
        sa.Column("file_name", sa.Text),
        sa.Column("media_type", sa.Text),
        sa.UniqueConstraint("trial_id", "number"),
        sa.CheckConstraint("number >= 1", name="numbers_count_from_1"),
        sa.CheckConstraint(
            "(sha256 IS NULL) = (file_name IS NULL) AND (sha256 IS NULL) = (media_type IS NULL)", name="file_is_whole"
        ),
        sa.CheckConstraint("made_at LIKE '____-__-__T__:__:__.______Z'", name="made_at_is_utc"),
        sqlite_strict=True,
    )
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    for trigger in _SQLITE_TRIGGERS if on_sqlite else _POSTGRESQL_TRIGGERS:
        op.execute(trigger)
