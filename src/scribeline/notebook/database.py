"""One transaction for reading, one for writing. SQLite and PostgreSQL are made to behave alike here, and only here.

A notebook has one writer at a time on both: SQLite by its own lock, PostgreSQL by an advisory lock. So a number that
was looked up at the start of a writing transaction is still right at its end. A reading transaction sees the notebook
as it was at one moment.
"""

import os
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from scribeline.notebook.address import Address
from scribeline.notebook.faults import NOTHING_NEW, plainly, refusal

_ADVISORY_LOCK = 0x5C121BE  # any number will do, as long as every program that writes a notebook uses the same


class Database:
    """The connections to one notebook. `wait_s` is how long a writer waits for another one, in seconds."""

    def __init__(self, address: Address, wait_s: float = 10.0) -> None:
        self.address = address
        self.is_sqlite = address.path is not None
        self._wait_s = wait_s
        self._one_thread = threading.Lock()  # SQLite would have the second writer look again every so often
        self._file: tuple[int, int] | None = None  # which file on the disk it is, once there is one
        arguments: dict[str, Any] = {"timeout": wait_s} if self.is_sqlite else {"connect_timeout": 10}
        try:
            self.engine = sa.create_engine(address.url, connect_args=arguments)
        except ImportError:
            raise refusal(
                address,
                "be opened",
                "the driver for PostgreSQL is not installed",
                "nothing was changed",
                "install scribeline with its extra: pip install 'scribeline[postgresql]'",
            ) from None
        if self.is_sqlite:
            sa.event.listen(self.engine, "connect", _prepare_sqlite)
            sa.event.listen(self.engine, "begin", _begin_sqlite)

    def close(self) -> None:
        """Give the connections back. What was kept stays kept without it too."""
        self.engine.dispose()

    @contextmanager
    def reading(self, doing: str = "be read") -> Iterator[sa.Connection]:
        """A transaction that sees the notebook as it is at one moment and changes nothing."""
        self._check_file(doing)
        with plainly(self.address, doing), self.engine.connect() as connection:
            if not self.is_sqlite:
                connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield connection
            connection.rollback()

    @contextmanager
    def writing(self, doing: str) -> Iterator[sa.Connection]:
        """A transaction of the only writer. It is committed, safely on disk, when the block ends without an error."""
        self._check_file(doing)
        with (
            plainly(self.address, doing),
            self._one_thread,
            self.engine.connect() as connection,
            self._only_writer(connection, doing),
        ):
            yield connection

    def _check_file(self, doing: str) -> None:
        """Refuse to go on in a file that was taken away: what is written into it would be lost with it."""
        if self.address.path is None:
            return
        now = _identity(self.address.path)
        if self._file is None:
            self._file = now
        elif now != self._file:
            happened = "its file is gone" if now is None else "there is another file in its place now"
            raise refusal(
                self.address, doing, f"{happened}; somebody moved, deleted or replaced it", NOTHING_NEW,
                "put the file back under this name, then start scribeline again",
            )  # fmt: skip

    @contextmanager
    def migrating(self) -> Iterator[sa.Connection]:
        """A writing transaction that may rebuild tables: SQLite checks the foreign keys at its end instead."""
        doing = "be brought to this program's tables"
        with plainly(self.address, doing), self.engine.connect() as connection:
            if self.is_sqlite:
                connection.detach()  # a connection without foreign keys must not go back among the others
                _outside_transactions(connection, "PRAGMA foreign_keys = OFF")
            with self._only_writer(connection, doing):
                yield connection
                if self.is_sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
                    raise refusal(
                        self.address,
                        doing,
                        "afterwards some entries would point nowhere",
                        NOTHING_NEW,
                        "please report it with a copy of the file",
                    )

    @contextmanager
    def _only_writer(self, connection: sa.Connection, doing: str) -> Iterator[None]:
        connection.execution_options(sqlite_begin="BEGIN IMMEDIATE")
        transaction = connection.begin()
        try:
            if not self.is_sqlite:
                connection.exec_driver_sql(f"SET LOCAL lock_timeout = {round(self._wait_s * 1000)}")
                connection.exec_driver_sql("SET LOCAL synchronous_commit = on")
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_ADVISORY_LOCK})")
            yield
        except BaseException:
            transaction.rollback()
            raise
        try:
            transaction.commit()
        except sa.exc.DBAPIError as error:
            if not error.connection_invalidated:
                raise
            raise refusal(
                self.address,
                doing,
                "the connection broke at the very moment of keeping",
                "perhaps all of this, perhaps nothing of it, never a part",
                "look with `scribeline notebook list` which it was before you try again",
            ) from error

    def use_write_ahead_log(self) -> None:
        """Switch an SQLite file to its write-ahead log, which it remembers; no-op elsewhere or where it is on."""
        if not self.is_sqlite:
            return
        with plainly(self.address, "be opened"), self.engine.connect() as connection:
            give_up_at_s = time.monotonic() + self._wait_s
            while True:
                try:
                    _outside_transactions(connection, "PRAGMA journal_mode = WAL")
                    return
                except sqlite3.OperationalError as error:
                    # SQLite does not wait here by itself when two processes open a new file at the same moment.
                    if "locked" not in str(error) or time.monotonic() > give_up_at_s:
                        raise
                    time.sleep(0.01)


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = os.stat(path)
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino


def _outside_transactions(connection: sa.Connection, pragma: str) -> None:
    connection.connection.cursor().execute(pragma)


def _prepare_sqlite(driver: sqlite3.Connection, _record: object) -> None:
    driver.isolation_level = None  # transactions are begun by _begin_sqlite, not by the driver's guesswork
    driver.execute("PRAGMA foreign_keys = ON")
    driver.execute("PRAGMA synchronous = FULL")  # a commit is on the disk before it is reported
    driver.execute("PRAGMA recursive_triggers = ON")  # else REPLACE would delete past the triggers


def _begin_sqlite(connection: sa.Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("sqlite_begin", "BEGIN"))
