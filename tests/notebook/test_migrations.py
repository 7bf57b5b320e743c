"""History is guarded by the database itself, against any program that opens it."""

import sqlite3
from contextlib import closing
from pathlib import Path

import psycopg
import pytest

from scribeline.notebook import FileToAttach, Notebook, open_notebook

SENTENCE = "never changed"

TAMPERING = [
    "UPDATE revisions SET note = 'better'",
    "UPDATE revisions SET number = 7",
    "UPDATE builds SET id = 'other'",
    "DELETE FROM revisions",
    "DELETE FROM builds",
    "UPDATE contents SET data = 'abd'",
    "DELETE FROM contents",
]


def fill(notebook: Notebook) -> None:
    notebook.keep("kart", "a = 1", author="Kim", files=[FileToAttach("a.txt", "text/plain", b"abc")])
    notebook.keep("kart", "a = 2", author="Kim")


@pytest.mark.parametrize("statement", TAMPERING)
def test_no_program_can_change_the_history_in_a_file(path: Path, statement: str) -> None:
    with open_notebook(path) as notebook:
        fill(notebook)
    with closing(sqlite3.connect(path)) as other_program:
        other_program.execute("PRAGMA foreign_keys = ON")
        before = list(other_program.iterdump())
        with pytest.raises(sqlite3.IntegrityError, match=f"{SENTENCE}|FOREIGN KEY constraint failed"):
            other_program.execute(statement.replace("'abd'", "x'616264'"))
        other_program.rollback()
        assert list(other_program.iterdump()) == before


@pytest.mark.parametrize("what", ["id", "number"])
def test_a_row_is_not_replaced_by_a_program_without_our_settings(path: Path, what: str) -> None:
    """SQLite's REPLACE deletes the old row without asking the trigger on deleting."""
    with open_notebook(path) as notebook:
        fill(notebook)
    columns = "id, build_id, number, parent_number, author, note, kept_at, record_toml, record_sha256, record_json"
    other = columns.replace("number, parent", "9, parent") if what == "id" else columns.replace("id,", "'x',", 1)
    with closing(sqlite3.connect(path)) as other_program:
        with pytest.raises(sqlite3.IntegrityError, match=SENTENCE):
            other_program.execute(
                f"INSERT OR REPLACE INTO revisions ({columns}) SELECT {other} FROM revisions WHERE number = 2"
            )
        with pytest.raises(sqlite3.IntegrityError, match=SENTENCE):
            other_program.execute("INSERT OR REPLACE INTO contents SELECT sha256, 3, x'616264' FROM contents")


@pytest.mark.parametrize("statement", [*TAMPERING, "TRUNCATE revisions CASCADE", "TRUNCATE builds CASCADE"])
def test_no_program_can_change_the_history_on_a_server(postgresql: str, statement: str) -> None:
    with open_notebook(postgresql, create=True) as notebook:
        fill(notebook)
        before = notebook.history("kart")
        with (
            psycopg.connect(postgresql) as other_program,
            pytest.raises(psycopg.Error, match=f"{SENTENCE}|foreign key"),
        ):
            other_program.execute(statement)
        assert notebook.history("kart") == before


IMPOSSIBLE = [
    "INSERT INTO builds VALUES ('b', 'kart', '2026-03-01T08:00:00.000001Z', '')",  # the name is taken
    "INSERT INTO builds VALUES ('b', 'other', '2026-03-01 08:00:00', '')",  # a time without its zone
    "INSERT INTO builds VALUES ('b', 'other', '2026-03-01T08:00:00.000001Z', NULL)",
    # a number that is taken; a parent that is younger, or of another build; a hash that is cut short
    "INSERT INTO revisions SELECT 'x', build_id, 2, 1, 'K', '', kept_at, 'a', record_sha256, '{}' FROM revisions",
    "INSERT INTO revisions SELECT 'x', build_id, 3, 3, 'K', '', kept_at, 'a', record_sha256, '{}' FROM revisions "
    "WHERE number = 1",
    "INSERT INTO revisions SELECT 'x', build_id, 0, NULL, 'K', '', kept_at, 'a', record_sha256, '{}' FROM revisions "
    "WHERE number = 1",
    "INSERT INTO revisions SELECT 'x', 'nobody', 1, NULL, 'K', '', kept_at, 'a', record_sha256, '{}' FROM revisions "
    "WHERE number = 1",
    "INSERT INTO revisions SELECT 'x', build_id, 3, 1, 'K', '', kept_at, 'a', 'abc', '{}' FROM revisions "
    "WHERE number = 1",
    "INSERT INTO attachments SELECT 'x', build_id, 9, sha256, name, media_type, attached_at FROM attachments",
    "INSERT INTO attachments SELECT 'x', build_id, 1, 'none', name, media_type, attached_at FROM attachments",
]


@pytest.mark.parametrize("statement", IMPOSSIBLE)
def test_what_cannot_be_is_not_taken(where: str, statement: str) -> None:
    with open_notebook(where, create=True) as notebook:
        fill(notebook)
    if "://" not in where:
        with closing(sqlite3.connect(where)) as raw:
            raw.execute("PRAGMA foreign_keys = ON")
            with pytest.raises(sqlite3.IntegrityError):
                raw.execute(statement)
    else:
        with psycopg.connect(where) as server, pytest.raises(psycopg.IntegrityError):
            server.execute(statement)


def test_a_file_takes_no_value_of_another_kind(path: Path) -> None:
    """SQLite would otherwise keep any text in a column of numbers."""
    with closing(sqlite3.connect(path)) as raw, pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT"):
        raw.execute("INSERT INTO contents VALUES (?, 'three', x'616263')", ["0" * 64])
