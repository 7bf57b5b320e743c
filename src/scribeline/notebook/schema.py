"""Which step a notebook stands at, and the way from there to the newest. The tables themselves are in migrations/.

empty                    all steps
at an older step         SQLite: a backup copy beside it, then the missing steps
                         PostgreSQL: only with the word of whoever keeps the backups
at the newest            nothing to do
at an unknown step       refused: a newer scribeline has been here
someone else's tables    refused
"""

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from scribeline.notebook.database import Database
from scribeline.notebook.faults import explained, refusal, there_is_none
from scribeline.notebook.tables import builds

STEPS = ("0001", "0002", "0003", "0004", "0005", "0006")
HEAD = STEPS[-1]
VERSION_TABLE = "notebook_version"

_UNTOUCHED = "everything, exactly as it was"


def bring_to_head(database: Database, create: bool, backup_is_made: bool, tell: Callable[[str], None]) -> None:
    """Bring the notebook's tables to the newest step; of several processes that try at once, one does it.

    create : whether an empty database may become a notebook
    backup_is_made : the word that a PostgreSQL database was dumped; not needed for SQLite, which is copied here
    tell : is given one sentence on what was done, for the person at the terminal
    """
    with database.reading("be opened") as connection:
        step = _step_of(connection, database)
    if step is None and not create:
        raise there_is_none(database.address)
    database.use_write_ahead_log()
    if step == HEAD:
        return
    with database.migrating() as connection:
        step = _step_of(connection, database)
        if step == HEAD:
            return
        if step is not None and database.address.path:
            copy = _back_up(database.address.path)
            tell(f"The notebook's tables are older than this program. A copy was made first: {copy}")
        elif step is not None and not backup_is_made and _anything_kept(connection):
            raise refusal(
                database.address,
                "be opened",
                f"its tables are at step {step}, this program needs {HEAD}, and bringing them there changes them",
                _UNTOUCHED,
                "dump the database with pg_dump, then run `scribeline notebook migrate --backup-is-made`",
            )
        upgrade(connection, HEAD)
    if step is None and database.address.path:
        _make_name_lasting(database.address.path)
    elif step is not None:
        tell(f"The notebook {database.address} was brought from step {step} to {HEAD}.")


def _step_of(connection: sa.Connection, database: Database) -> str | None:
    """The step a notebook stands at, None for an empty database; refused where it is none of ours."""
    names = sa.inspect(connection).get_table_names()
    if not names:
        return None
    if VERSION_TABLE not in names:
        raise refusal(
            database.address,
            "be opened",
            f"there are tables in it that are not scribeline's ({', '.join(sorted(names)[:3])})",
            _UNTOUCHED,
            "name another file or database: a notebook needs one of its own",
        )
    step = connection.exec_driver_sql(f"SELECT version_num FROM {VERSION_TABLE}").scalar()
    if step not in STEPS:
        raise refusal(
            database.address,
            "be opened",
            f"a newer scribeline has kept it: its tables are at step {step}, this program knows {HEAD} and older",
            _UNTOUCHED,
            "update scribeline; or, to stay with this one, open the backup copy that was made beside it",
        )
    return str(step)


def _anything_kept(connection: sa.Connection) -> bool:
    return connection.execute(sa.select(builds.c.id).limit(1)).first() is not None


def upgrade(connection: sa.Connection, step: str) -> None:
    """Run the steps that are missing up to `step`, inside the transaction that `connection` is in."""
    from alembic import command  # takes a moment to import, and a notebook is rarely migrated
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "scribeline.notebook:migrations")
    config.attributes["connection"] = connection
    command.upgrade(config, step)


def _back_up(path: Path) -> Path:
    """Copy the notebook beside itself, whole and checked, under a name that tells why and when."""
    now = datetime.now(UTC)
    copy = path.with_name(f"{path.stem}.before-{HEAD}.{now:%Y%m%dT%H%M%S.%fZ}{path.suffix}")
    unfinished = copy.with_name(copy.name + ".unfinished")
    try:
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")  # one file, without a log beside it
            verdict = target.execute("PRAGMA integrity_check").fetchone()[0]
        if verdict != "ok":
            raise sqlite3.DatabaseError(f"malformed: {verdict}")
        with unfinished.open("rb+") as file:
            os.fsync(file.fileno())
        unfinished.rename(copy)
        _make_name_lasting(copy)
    except (OSError, sqlite3.Error) as error:
        unfinished.unlink(missing_ok=True)
        raise explained(error, path, "be copied before its tables are changed") from error
    return copy


def _make_name_lasting(path: Path) -> None:
    """See to it that the file's name, not only its content, outlives a power cut."""
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
