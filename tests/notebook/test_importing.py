import shutil
import tempfile
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import NotebookError
from scribeline.notebook import FileToAttach, Notebook, export, open_archive, open_notebook, restore, rows, tables
from tests.notebook.archives import entries_of, fill, index_of, pack, with_index


def everything(notebook: Notebook) -> list[object]:
    """Every row of every table."""
    with notebook.database.reading() as connection:
        return [
            sorted(map(tuple, connection.execute(sa.select(table))), key=str) for table in tables.metadata.sorted_tables
        ]


def count(notebook: Notebook) -> int:
    with notebook.database.reading() as connection:
        found = [connection.execute(sa.select(sa.func.count()).select_from(t)) for t in tables.metadata.sorted_tables]
        return sum(result.scalar_one() for result in found)


def test_an_import_loses_nothing(where: str, path: Path, tmp_path: Path) -> None:
    """From either database into a file: every row, and the export byte for byte."""
    with open_notebook(where, create=True) as source:
        fill(source)
        export(source, tmp_path / "one.zip")
        before = everything(source)
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(path) as target:
        restore(archive, target)
        assert everything(target) == before
        export(target, tmp_path / "two.zip")
        kept = target.keep("kart", "a = 3", author="Kim")
        assert (kept.revision.number, kept.revision.parent_number) == (3, 2)
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_an_import_into_a_server_loses_nothing(postgresql: str, notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "one.zip")
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(postgresql, create=True) as target:
        restore(archive, target)
        assert everything(target) == everything(notebook)
        export(target, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_a_history_that_branches_comes_back(notebook: Notebook, path: Path, tmp_path: Path) -> None:
    fill(notebook)
    notebook.keep("kart", "a = 3", author="Kim")
    export(notebook, tmp_path / "one.zip")
    entries = entries_of(tmp_path / "one.zip")
    index = index_of(entries)
    index["builds"][1]["revisions"][1]["parent_number"] = None
    index["builds"][1]["revisions"][2]["parent_number"] = 1
    with (
        open_archive(pack(tmp_path / "x.zip", with_index(entries, index))) as archive,
        open_notebook(tmp_path / "target.sqlite", create=True) as target,
    ):
        restore(archive, target)
        assert [revision.parent_number for revision in target.history("kart")] == [None, None, 1]


def test_two_histories_are_not_mixed(where: str, notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "one.zip")
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(where, create=True) as target:
        target.keep("another", "a = 1", author="Kim")
        before = everything(target)
        with pytest.raises(NotebookError, match=r"builds or trials in it already(.|\n)*--notebook NEW.sqlite"):
            restore(archive, target)
        assert everything(target) == before


def test_an_import_that_fails_on_the_way_leaves_nothing(
    where: str, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The archive was sound when it was proved, and then the file was changed, or the database failed at the end."""
    with open_notebook(path) as notebook:
        fill(notebook)
        export(notebook, tmp_path / "one.zip")
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(where, create=True) as target:
        with monkeypatch.context() as patched:
            patched.setattr(rows, "insert_attachment", lambda *_: 1 / 0)
            with pytest.raises(ZeroDivisionError):
                restore(archive, target)
        assert count(target) == 0
        with monkeypatch.context() as patched:
            patched.setattr(rows, "insert_attachment", lambda on, *_: on.exec_driver_sql("INSERT INTO nothing"))
            with pytest.raises(NotebookError, match="kept: nothing of this"):
                restore(archive, target)
        assert count(target) == 0
        restore(archive, target)
        assert count(target) == 2 + 3 + 3 + 4


NAMES = st.sampled_from(["kart", "Küche", "50 cc", "シリンダー"])
TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=20)
FILES = st.builds(
    FileToAttach,
    st.sampled_from(["a.jpg", "b ü.pdf"]),
    st.sampled_from(["image/jpeg", "application/octet-stream"]),
    st.binary(max_size=20),
)
KEEPING = st.tuples(st.just("keep"), NAMES, TEXTS, TEXTS.filter(bool), st.lists(FILES, max_size=2))
ATTACHING = st.tuples(st.just("attach"), NAMES, st.none() | st.integers(1, 3), st.lists(FILES, max_size=2))


@settings(deadline=None, max_examples=25)
@given(st.lists(KEEPING | ATTACHING, max_size=8))
def test_whatever_was_done_the_import_is_the_same_notebook(empty_file: Path, steps: list[tuple[object, ...]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with open_notebook(shutil.copy(empty_file, folder / "one.sqlite")) as one:
            for number, (what, build, *rest) in enumerate(steps):
                try:
                    if what == "keep":
                        note, author, files = rest
                        one.keep(build, f"a = {number % 3} # {note}\n", author=author, note=note, files=files)  # type: ignore[arg-type]
                    else:
                        one.attach(build, rest[1], rest[0])  # type: ignore[arg-type]
                except NotebookError:
                    continue
            export(one, folder / "one.zip")
            with (
                open_archive(folder / "one.zip") as archive,
                open_notebook(shutil.copy(empty_file, folder / "two.sqlite")) as two,
            ):
                restore(archive, two)
                assert everything(one) == everything(two)
                export(two, folder / "two.zip")
        assert (folder / "one.zip").read_bytes() == (folder / "two.zip").read_bytes()
