import json
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest

from scribeline.errors import NotebookError
from scribeline.notebook import Notebook, export, exporting, make_edit, open_notebook
from scribeline.notebook.entries import sha256_of
from tests.notebook.archives import PHOTO, entries_of, fill
from tests.notebook.test_store import tamper


def test_an_export_reads_like_a_folder(notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "x.zip")
    entries = entries_of(tmp_path / "x.zip")
    hashes = sorted([sha256_of(PHOTO.data), sha256_of(b""), sha256_of(b"%PDF" * 999)])
    assert list(entries) == [
        "notebook.json",
        "builds/Küchenmoped/0001.toml",
        "builds/kart/0001.toml",
        "builds/kart/0002.toml",
        *(f"files/{sha256}" for sha256 in hashes),
    ]
    assert entries["builds/kart/0001.toml"] == b'name = "kart"\r\n# to the letter\n'
    assert entries[f"files/{sha256_of(PHOTO.data)}"] == PHOTO.data
    index = json.loads(entries["notebook.json"])
    assert (index["format"], index["format_version"]) == ("scribeline notebook", 1)
    kart = index["builds"][1]
    assert (kart["name"], kart["note"]) == ("kart", "spare")
    second = kart["revisions"][1]
    assert (second["number"], second["parent_number"], second["author"], second["note"]) == (
        2,
        1,
        "Ada",
        "roof\nraised",
    )
    assert second["record_sha256"] == sha256_of(entries["builds/kart/0002.toml"])
    assert second["kept_at"].endswith("Z")
    assert [(file["name"], file["revision_number"]) for file in kart["attachments"]] == [
        ("a.jpg", 1),
        ("scan ü.pdf", None),
    ]
    assert "Küchenmoped".encode() in entries["notebook.json"]


def test_the_same_notebook_gives_the_same_bytes(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(notebook)
    export(notebook, tmp_path / "one.zip")
    monkeypatch.setenv("TZ", "Asia/Kolkata")
    monkeypatch.setattr("time.time", lambda: 2_000_000_000.0)
    export(notebook, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    notebook.keep("kart", "a = 1", author="Kim")
    export(notebook, tmp_path / "three.zip")
    assert (tmp_path / "one.zip").read_bytes() != (tmp_path / "three.zip").read_bytes()


def test_another_program_finds_the_export_sound(notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "x.zip")
    with zipfile.ZipFile(tmp_path / "x.zip") as packed:
        assert {info.compress_type for info in packed.infolist()} == {zipfile.ZIP_STORED}
        assert {info.date_time for info in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    if unzip := shutil.which("unzip"):
        done = subprocess.run([unzip, "-t", tmp_path / "x.zip"], capture_output=True, text=True)
        assert (done.returncode, "No errors detected" in done.stdout) == (0, True)


def test_a_file_that_is_there_is_not_written_over(notebook: Notebook, tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"older")
    with pytest.raises(NotebookError, match=r"there is such a file already(.|\n)*give another name"):
        export(notebook, tmp_path / "x.zip")
    assert (tmp_path / "x.zip").read_bytes() == b"older"


@pytest.mark.parametrize("name", ["no folder/x.zip", "x" * 300 + ".zip"])
def test_a_place_where_nothing_can_be_written(notebook: Notebook, tmp_path: Path, name: str) -> None:
    before = sorted(tmp_path.iterdir())
    with pytest.raises(NotebookError, match=r"was not written(.|\n)*what to do"):
        export(notebook, tmp_path / name)
    assert sorted(tmp_path.iterdir()) == before


def test_a_notebook_that_is_damaged_leaves_no_half_export(where: str, tmp_path: Path) -> None:
    with open_notebook(where, create=True) as notebook:
        fill(notebook)
        export(notebook, tmp_path / "sound.zip")
        tamper(
            notebook,
            "contents",
            "data = CAST('x' AS BLOB), size_bytes = 1" if notebook.database.is_sqlite else "data = 'x', size_bytes = 1",
        )
        with pytest.raises(NotebookError, match="is not what was kept"):
            export(notebook, tmp_path / "x.zip")
    assert [found.name for found in tmp_path.glob("*.zip*")] == ["sound.zip"]


@pytest.mark.parametrize("limit", ["LARGEST_INDEX_BYTES", "LARGEST_JOURNAL_BYTES"])
def test_what_no_import_would_accept_is_not_written(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str
) -> None:
    fill(notebook)
    make_edit(notebook, "kart", "record.a_mm", 3, before=2.5, device="bench", label="")
    monkeypatch.setattr(exporting, limit, 20)
    with pytest.raises(NotebookError, match=r"more than the 20 that an import accepts"):
        export(notebook, tmp_path / "x.zip")
    assert not (tmp_path / "x.zip").exists()
