"""The tables as they are now. How they came to be so stands in migrations/; a test holds the two together.

Every time is text in UTC, `2026-11-25T10:15:00.123456Z`: it reads and sorts the same in both databases, where a column
of times would come back without its zone from one and with it from the other. The checks and triggers that guard the
history stand in the migrations only, because they are needed there and nowhere else.
"""

from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.dialects.postgresql import JSONB


class UtcTime(sa.types.TypeDecorator[datetime]):
    """A moment: an aware time in Python, text in UTC in the database."""

    impl = sa.Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> str | None:
        """Python to database."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} names no time zone")
        return time_text(value)

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> datetime | None:
        """Database to Python."""
        return None if value is None else time_from_text(value)


def time_text(moment: datetime) -> str:
    """An aware time as the notebook writes it."""
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def time_from_text(text: str) -> datetime:
    """The time that the notebook wrote; ValueError where `text` is none."""
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None or time_text(moment) != text:
        raise ValueError(f"{text} is no time as the notebook writes it")
    return moment.astimezone(UTC)


metadata = sa.MetaData()

builds = sa.Table(
    "builds",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("name", sa.Text, nullable=False, unique=True),
    sa.Column("created_at", UtcTime, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sqlite_strict=True,
)

revisions = sa.Table(
    "revisions",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("parent_number", sa.Integer),
    sa.Column("author", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("kept_at", UtcTime, nullable=False),
    sa.Column("record_toml", sa.Text, nullable=False),
    sa.Column("record_sha256", sa.Text, nullable=False),
    # A copy of record_toml to search in; the TOML text is what counts.
    sa.Column("record_json", sa.JSON().with_variant(JSONB(), "postgresql"), nullable=False),
    sa.UniqueConstraint("build_id", "number"),
    sa.ForeignKeyConstraint(["build_id", "parent_number"], ["revisions.build_id", "revisions.number"]),
    sqlite_strict=True,
)

contents = sa.Table(
    "contents",
    metadata,
    sa.Column("sha256", sa.Text, primary_key=True),
    sa.Column("size_bytes", sa.Integer, nullable=False),
    sa.Column("data", sa.LargeBinary, nullable=False),
    sqlite_strict=True,
)

attachments = sa.Table(
    "attachments",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
    sa.Column("revision_number", sa.Integer),
    sa.Column("sha256", sa.Text, sa.ForeignKey("contents.sha256"), nullable=False),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("media_type", sa.Text, nullable=False),
    sa.Column("attached_at", UtcTime, nullable=False),
    sa.ForeignKeyConstraint(["build_id", "revision_number"], ["revisions.build_id", "revisions.number"]),
    sqlite_strict=True,
)
sa.Index("attachments_of_build", attachments.c.build_id)

trials = sa.Table(
    "trials",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("name", sa.Text, nullable=False, unique=True),
    sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id")),
    sa.Column("revision_number", sa.Integer),
    sa.Column("created_at", UtcTime, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.ForeignKeyConstraint(["build_id", "revision_number"], ["revisions.build_id", "revisions.number"]),
    sqlite_strict=True,
)

trial_entries = sa.Table(
    "trial_entries",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("trial_id", sa.Text, sa.ForeignKey("trials.id"), nullable=False),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("author", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("made_at", UtcTime, nullable=False),
    sa.Column("data", sa.Text, nullable=False),  # JSON as text, so that both databases give back the same letters
    sa.Column("sha256", sa.Text, sa.ForeignKey("contents.sha256")),
    sa.Column("file_name", sa.Text),
    sa.Column("media_type", sa.Text),
    sa.UniqueConstraint("trial_id", "number"),
    sqlite_strict=True,
)
sa.Index("trials_of_build", trials.c.build_id)
sa.Index("trial_entries_last", trial_entries.c.trial_id, trial_entries.c.made_at)
sa.Index("trial_entries_of_kind", trial_entries.c.kind, trial_entries.c.made_at, trial_entries.c.number)

edits = sa.Table(
    "edits",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("of_number", sa.Integer),
    sa.Column("made_at", UtcTime, nullable=False),
    sa.Column("device", sa.Text, nullable=False),
    sa.Column("label", sa.Text, nullable=False),
    sa.Column("path", sa.Text, nullable=False),
    sa.Column("before", sa.Text),  # JSON as text; nothing where nothing was there
    sa.Column("after", sa.Text),
    sa.Column("step", sa.Integer),  # number of the first entry of its step; nothing for that one itself
    sa.UniqueConstraint("build_id", "number"),
    sa.ForeignKeyConstraint(["build_id", "of_number"], ["edits.build_id", "edits.number"]),
    sqlite_strict=True,
)

ledger_entries = sa.Table(
    "ledger_entries",
    metadata,
    sa.Column("id", sa.Text, primary_key=True),
    sa.Column("build_id", sa.Text, sa.ForeignKey("builds.id"), nullable=False),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("revision_number", sa.Integer),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("author", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("made_at", UtcTime, nullable=False),
    sa.Column("data", sa.Text, nullable=False),  # JSON as text, as for trials
    sa.UniqueConstraint("build_id", "number"),
    sa.ForeignKeyConstraint(["build_id", "revision_number"], ["revisions.build_id", "revisions.number"]),
    sqlite_strict=True,
)
