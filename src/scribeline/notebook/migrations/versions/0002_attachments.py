"""Attachments: photographs, scans, anything that belongs to a build. Equal content is kept once, under its SHA-256."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_SENTENCE = "what is kept under a hash is never changed"


def upgrade() -> None:
    """Make the two tables; content cannot be changed under its hash."""
    op.create_table(
        "contents",
        sa.Column("sha256", sa.Text, primary_key=True),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.CheckConstraint("length(sha256) = 64", name="sha256_is_whole"),
        sa.CheckConstraint("length(data) = size_bytes", name="data_is_whole"),
        sqlite_strict=True,
    )
    op.create_table(
        "attachments",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
        sa.Column("revision_number", sa.Integer),
        sa.Column("sha256", sa.Text, sa.ForeignKey("contents.sha256"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("attached_at", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(["build_id", "revision_number"], ["revisions.build_id", "revisions.number"]),
        sa.CheckConstraint("attached_at LIKE '____-__-__T__:__:__.______Z'", name="attached_at_is_utc"),
        sqlite_strict=True,
    )
    op.create_index("attachments_of_build", "attachments", ["build_id"])
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            "CREATE TRIGGER contents_are_not_changed BEFORE UPDATE ON contents "
            f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END"
        )
        op.execute(
            "CREATE TRIGGER contents_are_not_replaced BEFORE INSERT ON contents "
            "WHEN EXISTS (SELECT 1 FROM contents WHERE sha256 = NEW.sha256) "
            f"BEGIN SELECT RAISE(ABORT, '{_SENTENCE}'); END"
        )
    else:
        op.execute(
            "CREATE TRIGGER contents_are_not_changed BEFORE UPDATE ON contents "
            "FOR EACH ROW EXECUTE FUNCTION refuse_to_change_history()"
        )
