"""Builds and their revisions. A revision is neither changed nor deleted: the database itself refuses it."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0001"
down_revision = None

_SENTENCE = "a revision in the notebook is never changed or deleted"

_SQLITE_TRIGGERS = [
    f"CREATE TRIGGER revisions_are_not_changed BEFORE UPDATE ON revisions "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    f"CREATE TRIGGER revisions_are_not_deleted BEFORE DELETE ON revisions "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
    # INSERT OR REPLACE deletes without asking the trigger above, unless the program that does it has asked for that.
    f"CREATE TRIGGER revisions_are_not_replaced BEFORE INSERT ON revisions "
    f"WHEN EXISTS (SELECT 1 FROM revisions WHERE id = NEW.id "
    f"OR (build_id = NEW.build_id AND number = NEW.number)) "
    f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END",
]

_POSTGRESQL_TRIGGERS = [
    f"CREATE FUNCTION refuse_to_change_history() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{_SENTENCE}'; END $$",
    "CREATE TRIGGER revisions_are_not_changed BEFORE UPDATE OR DELETE ON revisions "
    "FOR EACH ROW EXECUTE FUNCTION refuse_to_change_history()",
    "CREATE TRIGGER revisions_are_not_emptied BEFORE TRUNCATE ON revisions "
    "FOR EACH STATEMENT EXECUTE FUNCTION refuse_to_change_history()",
]


def upgrade() -> None:
    """Make the two tables and what guards them."""
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    op.create_table(
        "builds",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        sa.Column("created_at", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.CheckConstraint("created_at LIKE '____-__-__T__:__:__.______Z'", name="created_at_is_utc"),
        sqlite_strict=True,
    )
    op.create_table(
        "revisions",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("parent_number", sa.Integer),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("kept_at", sa.Text, nullable=False),
        sa.Column("record_toml", sa.Text, nullable=False),
        sa.Column("record_sha256", sa.Text, nullable=False),
        sa.Column("record_json", sa.Text().with_variant(JSONB(), "postgresql"), nullable=False),
        sa.UniqueConstraint("build_id", "number"),
        sa.ForeignKeyConstraint(["build_id", "parent_number"], ["revisions.build_id", "revisions.number"]),
        sa.CheckConstraint("number >= 1 AND parent_number < number", name="parent_comes_first"),
        sa.CheckConstraint("kept_at LIKE '____-__-__T__:__:__.______Z'", name="kept_at_is_utc"),
        sa.CheckConstraint("length(record_sha256) = 64", name="record_sha256_is_whole"),
        sqlite_strict=True,
    )
    for trigger in _SQLITE_TRIGGERS if on_sqlite else _POSTGRESQL_TRIGGERS:
        op.execute(trigger)
