import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa

from scribeline.errors import NotebookError
from scribeline.notebook import Notebook, open_notebook, resolve
from scribeline.notebook.database import Database


def test_a_file_has_its_log_its_keys_and_its_safe_writing(notebook: Notebook) -> None:
    expected = {
        "journal_mode": "wal",
        "foreign_keys": 1,
        "synchronous": 2,
        "recursive_triggers": 1,
        "busy_timeout": 10000,
    }
    with notebook.database.reading() as connection:
        found = {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in expected}
    assert found == expected


def test_a_server_keeps_a_commit_on_disk_whatever_it_does_otherwise(postgresql: str) -> None:
    with open_notebook(postgresql, create=True) as notebook:
        with notebook.database.writing("say on") as connection:
            connection.exec_driver_sql("ALTER ROLE builder SET synchronous_commit = off")
        notebook.database.engine.dispose()
        with notebook.database.writing("look") as connection:
            assert connection.exec_driver_sql("SHOW synchronous_commit").scalar() == "on"
            connection.exec_driver_sql("ALTER ROLE builder RESET synchronous_commit")


def test_a_reader_sees_one_moment(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        notebook.keep("kart", "a = 1", author="Kim")
        with notebook.database.reading() as connection:
            count = sa.text("SELECT count(*) FROM revisions")
            assert connection.execute(count).scalar() == 1
            notebook.keep("kart", "a = 2", author="Kim")
            assert connection.execute(count).scalar() == 1
        with notebook.database.reading() as connection:
            assert connection.execute(count).scalar() == 2


def test_a_reader_on_a_server_cannot_write(postgresql: str) -> None:
    insert = "INSERT INTO builds VALUES ('b', 'n', '2026-03-01T08:00:00.000001Z', '')"
    with (
        open_notebook(postgresql, create=True) as notebook,
        pytest.raises(NotebookError, match="writing is not allowed"),
        notebook.database.reading() as connection,
    ):
        connection.exec_driver_sql(insert)


def test_an_error_in_the_block_undoes_it(where: str) -> None:
    open_notebook(where, create=True).close()
    database = Database(resolve(where))

    def insert_and_fail() -> None:
        with database.writing("try") as connection:
            connection.exec_driver_sql("INSERT INTO builds VALUES ('b', 'n', '2026-03-01T08:00:00.000001Z', '')")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        insert_and_fail()
    with database.reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM builds").scalar() == 0
    database.close()


def test_a_writer_waits_for_another_and_then_goes_on(where: str) -> None:
    with open_notebook(where, create=True) as one, open_notebook(where) as two:
        began, kept = threading.Event(), []

        def keep() -> None:
            began.set()
            kept.append(two.keep("kart", "a = 1", author="Kim").revision.number)

        with one.database.writing("hold") as connection:
            connection.exec_driver_sql("SELECT 1")
            thread = threading.Thread(target=keep)
            thread.start()
            began.wait()
            thread.join(0.2)
            assert kept == []
        thread.join()
        assert kept == [1]


def test_a_writer_that_has_waited_long_enough_is_refused(where: str) -> None:
    with open_notebook(where, create=True) as one, open_notebook(where, wait_s=0.1) as two:
        with one.database.writing("hold"), pytest.raises(NotebookError, match="another program is writing"):
            two.keep("kart", "a = 1", author="Kim")
        assert two.builds() == []
        assert two.keep("kart", "a = 1", author="Kim").revision.number == 1


def cut(connection: sa.Connection, other: Notebook) -> None:
    """Have the server end the connection, as a pulled cable would."""
    own = connection.exec_driver_sql("SELECT pg_backend_pid()").scalar()
    with other.database.reading() as executioner:
        executioner.exec_driver_sql(f"SELECT pg_terminate_backend({own})")


def test_a_connection_lost_while_keeping_says_that_it_cannot_know(postgresql: str) -> None:
    with open_notebook(postgresql, create=True) as notebook, open_notebook(postgresql) as other:
        with (
            pytest.raises(NotebookError, match=r"perhaps all of this, perhaps nothing.*\n.*look with"),
            notebook.database.writing("keep it") as connection,
        ):
            cut(connection, other)
        assert notebook.builds() == []  # and the next call has a new connection


def test_a_connection_lost_before_that_kept_nothing(postgresql: str) -> None:
    def write_after_the_cut(notebook: Notebook, other: Notebook) -> None:
        with notebook.database.writing("keep it") as connection:
            cut(connection, other)
            connection.exec_driver_sql("INSERT INTO builds VALUES ('b', 'n', '2026-03-01T08:00:00.000001Z', '')")

    with open_notebook(postgresql, create=True) as notebook, open_notebook(postgresql) as other:
        with pytest.raises(NotebookError, match=r"does not answer.*\n.*nothing of this"):
            write_after_the_cut(notebook, other)
        assert notebook.builds() == []


def test_a_copy_without_a_log_is_given_one_as_soon_as_no_other_program_writes_in_it(path: Path) -> None:
    """SQLite itself would not wait here; it is what two processes meet that begin a notebook at the same moment."""
    with closing(sqlite3.connect(path, isolation_level=None, check_same_thread=False)) as other:
        other.execute("PRAGMA journal_mode = DELETE")
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotebookError, match="another program is writing"):
            open_notebook(path, wait_s=0.05)
        thread = threading.Timer(0.1, lambda: other.execute("ROLLBACK"))
        thread.start()
        with open_notebook(path) as notebook, notebook.database.reading() as connection:
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
        thread.join()


def test_closing_leaves_one_file(path: Path) -> None:
    with open_notebook(path) as notebook:
        notebook.keep("kart", "a = 1", author="Kim")
        assert path.with_name("notebook.sqlite-wal").exists()
    assert [found.name for found in path.parent.iterdir()] == ["notebook.sqlite"]
