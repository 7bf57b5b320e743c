import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from scribeline.errors import NotebookError
from scribeline.notebook import FileToAttach, Put, edits_after, make_edits, open_notebook, resolve, turn_back
from scribeline.notebook.database import Database
from scribeline.notebook.schema import HEAD, STEPS, VERSION_TABLE, upgrade
from scribeline.notebook.tables import metadata
from tests.notebook.keeper import Keepers

OLD_NOTEBOOK = (Path(__file__).parent / "data" / "step-0001.sql").read_text()


def an_old_notebook(path: Path) -> Path:
    """A file as the first step made it, from text that was written down then."""
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(OLD_NOTEBOOK)
        raw.execute("PRAGMA journal_mode = WAL")
    return path


def rows(path: Path, table: str) -> list[Any]:
    with closing(sqlite3.connect(path)) as raw:
        return raw.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()


def shape(path: Path) -> dict[str, Any]:
    """Tables, columns, keys and triggers of a file, in no order that a library may change."""
    with closing(sqlite3.connect(path)) as raw:
        names = [row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        found: dict[str, Any] = {
            name: (
                raw.execute(f"PRAGMA table_info({name})").fetchall(),
                sorted(row[2:5] for row in raw.execute(f"PRAGMA foreign_key_list({name})")),
                raw.execute("SELECT sql LIKE '%STRICT%' FROM sqlite_master WHERE name = ?", [name]).fetchall(),
            )
            for name in names
        }
        found["triggers"] = sorted(raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        found["checks"] = sorted(
            line.strip().rstrip(",")
            for (sql,) in raw.execute("SELECT sql FROM sqlite_master WHERE type = 'table'")
            for line in sql.splitlines()
            if "CHECK" in line
        )
    return found


def bring_to(where: str, step: str) -> None:
    database = Database(resolve(where))
    with database.migrating() as connection:
        upgrade(connection, step)
    database.close()


def test_the_steps_are_those_in_the_folder_one_after_the_other() -> None:
    config = Config()
    config.set_main_option("script_location", "scribeline.notebook:migrations")
    folder = ScriptDirectory.from_config(config)
    assert folder.get_heads() == [HEAD]
    assert [script.revision for script in folder.walk_revisions()] == list(reversed(STEPS))


def test_the_steps_lead_to_the_tables_of_the_program(where: str) -> None:
    open_notebook(where, create=True).close()
    database = Database(resolve(where))
    with database.reading() as connection:
        options = {"version_table": VERSION_TABLE, "compare_type": True}
        found = compare_metadata(MigrationContext.configure(connection, opts=options), metadata)
    database.close()
    # SQLite has no type for JSON: the text of it is kept in a column of text.
    as_text = [one for change in found if isinstance(change, list) for one in change]
    assert [change for change in found if not isinstance(change, list)] == []
    assert [(one[0], one[3], one[6].__class__.__name__) for one in as_text] == (
        [("modify_type", "record_json", "JSON")] if database.is_sqlite else []
    )


def test_the_first_step_still_makes_what_it_made_when_it_was_published(tmp_path: Path) -> None:
    bring_to(str(tmp_path / "now.sqlite"), "0001")
    assert shape(tmp_path / "now.sqlite") == shape(an_old_notebook(tmp_path / "then.sqlite"))


def test_an_old_file_is_copied_and_brought_to_head_with_its_content(tmp_path: Path) -> None:
    path = an_old_notebook(tmp_path / "engines.sqlite")
    before = rows(path, "builds"), rows(path, "revisions")
    told: list[str] = []
    with open_notebook(path, tell=told.append) as notebook:
        notebook.attach("Old barrel", [FileToAttach("shed.jpg", "image/jpeg", b"...")], 2)
        assert [(one.number, one.parent_number) for one in notebook.history("Old barrel")] == [
            (1, None),
            (2, 1),
            (3, 1),
        ]
    assert (rows(path, "builds"), rows(path, "revisions")) == before
    fresh = tmp_path / "fresh.sqlite"
    open_notebook(fresh, create=True).close()
    assert shape(path) == shape(fresh)

    (copy,) = tmp_path.glob("engines.before-0006.*.sqlite")
    assert str(copy) in told[0]
    assert "0001 to 0006" in told[1]
    assert (rows(copy, "builds"), rows(copy, "revisions")) == before
    assert shape(copy) == shape(an_old_notebook(tmp_path / "then.sqlite"))
    assert list(tmp_path.glob("engines.before-*")) == [copy]


def test_the_copy_holds_what_was_still_in_the_write_ahead_log(tmp_path: Path) -> None:
    path = an_old_notebook(tmp_path / "engines.sqlite")
    with closing(sqlite3.connect(path)) as still_open:
        still_open.execute("UPDATE builds SET note = 'in the log'")
        still_open.commit()
        open_notebook(path).close()
    (copy,) = tmp_path.glob("engines.before-*.sqlite")
    assert rows(copy, "builds")[0][-1] == "in the log"


JOURNAL_OF_STEP_0005 = """
INSERT INTO builds VALUES ('b', 'kart', '2026-03-01T08:00:00.000001Z', '');
INSERT INTO edits VALUES
 ('1', 'b', 1, 'begin', NULL, '2026-03-01T08:00:00.000001Z', 'd', 'new', 'record', NULL, '{}'),
 ('2', 'b', 2, 'edit', NULL, '2026-03-01T08:00:00.000002Z', 'd', 'a', 'record.a', NULL, '1'),
 ('3', 'b', 3, 'edit', NULL, '2026-03-01T08:00:00.000003Z', 'd', 'b', 'record.b', NULL, '2'),
 ('4', 'b', 4, 'undo', 3, '2026-03-01T08:00:00.000004Z', 'd', 'b', 'record.b', '2', NULL)
"""


def test_a_journal_from_before_there_were_steps_goes_on(where: str) -> None:
    bring_to(where, "0005")
    database = Database(resolve(where))
    with database.writing("fill it") as connection:
        for statement in JOURNAL_OF_STEP_0005.split(";"):
            connection.exec_driver_sql(statement)
    database.close()
    with open_notebook(where, backup_is_made=True) as notebook:
        assert [(one.number, one.step) for one in edits_after(notebook, "kart", 0)] == [(n, None) for n in (1, 2, 3, 4)]
        assert turn_back(notebook, "kart", "redo", device="d").document == {"record": {"a": 1, "b": 2}}
        make_edits(notebook, "kart", [Put("record.a", 3, 1), Put("record.b", None, 2)], device="d", label="")
        assert turn_back(notebook, "kart", "undo", device="d").document == {"record": {"a": 1, "b": 2}}
        assert turn_back(notebook, "kart", "undo", device="d").document == {"record": {"a": 1}}


def test_a_notebook_at_head_is_not_copied(path: Path) -> None:
    told: list[str] = []
    open_notebook(path, tell=told.append).close()
    assert told == []
    assert list(path.parent.glob("*.before-*")) == []


def test_nothing_is_migrated_when_the_copy_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = an_old_notebook(tmp_path / "engines.sqlite")

    def fail(self: Path, target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(NotebookError, match=r"be copied before its tables are changed: the disk is full"):
        open_notebook(path)
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT version_num FROM notebook_version").fetchall() == [("0001",)]
    assert list(tmp_path.glob("*.before-*")) == []


def test_a_step_that_fails_leaves_the_notebook_as_it_was(tmp_path: Path) -> None:
    path = an_old_notebook(tmp_path / "engines.sqlite")
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("CREATE TABLE attachments (in_the_way)")  # the second step makes `contents` before it meets this
    with pytest.raises(NotebookError, match="attachments already exists"):
        open_notebook(path)
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("SELECT version_num FROM notebook_version").fetchall() == [("0001",)]
        assert raw.execute("SELECT name FROM sqlite_master WHERE name = 'contents'").fetchall() == []


def test_a_migration_that_leaves_entries_pointing_nowhere_is_undone(path: Path) -> None:
    database = Database(resolve(path))
    wrong = "INSERT INTO attachments VALUES ('a', 'no such build', NULL, 'x', 'y', 'z', '2026-01-01T00:00:00.000000Z')"
    with pytest.raises(NotebookError, match="point nowhere"), database.migrating() as connection:
        connection.exec_driver_sql(wrong)
    with pytest.raises(NotebookError, match="FOREIGN KEY"), database.writing("do it") as connection:
        connection.exec_driver_sql(wrong)
    database.close()
    assert rows(path, "attachments") == []


def test_several_processes_that_open_an_old_file_copy_and_migrate_it_once(keepers: Keepers, tmp_path: Path) -> None:
    path = an_old_notebook(tmp_path / "engines.sqlite")
    children = [keepers.start(path, tmp_path / "log", seed, count=1) for seed in range(1, 6)]
    assert [keepers.wait(child) for child in children] == [0] * 5
    assert len(list(tmp_path.glob("engines.before-*"))) == 1
    with open_notebook(path) as notebook:
        assert len(notebook.history("kart")) == 5
        assert len(notebook.history("Old barrel")) == 3


def test_several_processes_that_begin_a_notebook_make_it_once(keepers: Keepers, where: str, tmp_path: Path) -> None:
    children = [keepers.start(where, tmp_path / "log", seed, count=1) for seed in range(1, 7)]
    assert [keepers.wait(child) for child in children] == [0] * 6
    with open_notebook(where) as notebook:
        assert len(notebook.history("kart")) == 6
        with notebook.database.reading() as connection:
            assert connection.exec_driver_sql("SELECT version_num FROM notebook_version").fetchall() == [(HEAD,)]
    assert list(tmp_path.glob("*.before-*")) == []


def test_a_newer_notebook_is_refused_and_left_alone(where: str) -> None:
    open_notebook(where, create=True).close()
    database = Database(resolve(where))
    with database.writing("age it") as connection:
        connection.exec_driver_sql(f"UPDATE {VERSION_TABLE} SET version_num = '0917'")
    with pytest.raises(NotebookError, match=r"at step 0917, this program knows 0006.*\n.*\n.*update scribeline"):
        open_notebook(where)
    with database.reading() as connection:
        assert connection.exec_driver_sql(f"SELECT version_num FROM {VERSION_TABLE}").scalar() == "0917"
    database.close()


def test_somebody_elses_tables_are_refused_and_left_alone(where: str) -> None:
    database = Database(resolve(where))
    with database.writing("be somebody else") as connection:
        connection.execute(sa.schema.CreateTable(sa.Table("recipes", sa.MetaData(), sa.Column("soup", sa.Text))))
    before = database.address.path.read_bytes() if database.address.path else b""
    with pytest.raises(NotebookError, match=r"not scribeline's \(recipes\)"):
        open_notebook(where, create=True)
    with database.reading() as connection:
        assert sa.inspect(connection).get_table_names() == ["recipes"]
    database.close()
    if database.address.path:
        assert database.address.path.read_bytes() == before


def keep_by_hand(postgresql: str) -> None:
    with psycopg.connect(postgresql) as server:
        server.execute("INSERT INTO builds VALUES ('b', 'Old barrel', '2026-03-01T08:00:00.000001Z', '')")


def test_a_server_is_only_migrated_with_the_word_that_it_was_dumped(postgresql: str) -> None:
    bring_to(postgresql, "0001")
    keep_by_hand(postgresql)
    with pytest.raises(NotebookError, match=r"pg_dump, then run `scribeline notebook migrate --backup-is-made`"):
        open_notebook(postgresql)
    with psycopg.connect(postgresql) as server:
        assert server.execute("SELECT version_num FROM notebook_version").fetchall() == [("0001",)]
    told: list[str] = []
    with open_notebook(postgresql, backup_is_made=True, tell=told.append) as notebook:
        assert [summary.build.name for summary in notebook.builds()] == ["Old barrel"]
    assert "0001 to 0006" in told[0]
    open_notebook(postgresql).close()


def test_a_server_with_nothing_kept_is_migrated_without_a_word(postgresql: str) -> None:
    bring_to(postgresql, "0001")
    with open_notebook(postgresql) as notebook:
        assert notebook.builds() == []
