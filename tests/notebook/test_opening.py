import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from scribeline.errors import NotebookError
from scribeline.notebook import open_notebook
from scribeline.notebook.address import default_path


def test_a_notebook_is_only_begun_where_that_was_asked_for(where: str) -> None:
    with pytest.raises(NotebookError, match=r"there is none yet.*\n.*nothing was made\n.*keep ENGINE.toml"):
        open_notebook(where)
    if "://" not in where:
        assert not Path(where).exists()
    open_notebook(where, create=True).close()
    with open_notebook(where) as notebook:
        assert notebook.builds() == []


def test_an_empty_file_is_no_notebook_yet(tmp_path: Path) -> None:
    path = tmp_path / "x.sqlite"
    path.touch()
    with pytest.raises(NotebookError, match="there is none yet"):
        open_notebook(path)
    assert path.read_bytes() == b""
    open_notebook(path, create=True).close()
    open_notebook(path).close()


def test_the_folder_is_made_only_for_the_users_own_notebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SCRIBELINE_NOTEBOOK", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "me"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "me" / "data"))
    open_notebook(create=True).close()
    assert default_path().is_relative_to(tmp_path / "me")
    assert default_path().is_file()
    with pytest.raises(NotebookError, match="there is no folder"):
        open_notebook(tmp_path / "mistyped" / "x.sqlite", create=True)
    assert not (tmp_path / "mistyped").exists()


@pytest.mark.parametrize("create", [False, True])
def test_a_folder_is_refused(tmp_path: Path, create: bool) -> None:
    with pytest.raises(NotebookError, match="it is a folder"):
        open_notebook(tmp_path, create=create)


def test_a_name_that_no_disk_takes_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="File name too long"):
        open_notebook(tmp_path / ("x" * 300), create=True)


def test_a_strange_name_is_only_a_name(tmp_path: Path) -> None:
    path = tmp_path / "50% ? #1 @ü.sqlite"
    open_notebook(path, create=True).close()
    assert [found.name for found in tmp_path.iterdir()] == [path.name]


def test_a_notebook_can_be_read_with_any_sqlite_tool(path: Path) -> None:
    with open_notebook(path) as notebook:
        notebook.keep("kart", "a_mm = 1.5", author="Kim")
    with closing(sqlite3.connect(path)) as tool:
        field = "json_extract(record_json, '$.a_mm')"
        query = f"SELECT name, number, {field} FROM revisions JOIN builds ON builds.id = build_id"
        assert tool.execute(query).fetchall() == [("kart", 1, 1.5)]
