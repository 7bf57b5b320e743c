"""Trials in the notebook: a journal that only grows, in both databases, and in and out of an export."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from scribeline.errors import NotebookError
from scribeline.notebook import (
    EntryToKeep,
    FileToAttach,
    Notebook,
    add_entries,
    begin_trial,
    export,
    find_trial,
    last_entry_like,
    open_archive,
    open_notebook,
    restore,
    trials,
)
from scribeline.notebook.entries import canonical
from tests.notebook.archives import entries_of, fill, index_of, pack, with_index
from tests.notebook.test_importing import everything

TABLE = FileToAttach("gate-times.csv", "text/csv", b"setup;run;25-50 km/h\nstock;1;8,4\n")


def begin(notebook: Notebook, name: str = "first day", **other: Any) -> None:
    values: dict[str, Any] = {"build_name": None, "revision_number": None, "note": "dry, 18 °C", "author": "Kim"}
    begin_trial(notebook, name, **(values | other))


def drive(notebook: Notebook) -> None:
    fill(notebook)
    begin(notebook, build_name="KART")
    add_entries(
        notebook,
        "First Day",
        [EntryToKeep("file", {"format": "table"}, file=TABLE), EntryToKeep("drop run", {"run": "2"}, "rider gave up")],
        author="Ada",
    )
    begin(notebook, "loose", note="")


def test_what_was_added_comes_back(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        drive(notebook)
        trial, journal = find_trial(notebook, "first day")
        assert (trial.name, trial.build_name, trial.revision_number, trial.note) == (
            "first day",
            "kart",
            2,
            "dry, 18 °C",
        )
        assert [(e.number, e.kind, e.author, e.note, e.file_name) for e in journal] == [
            (1, "file", "Ada", "", "gate-times.csv"),
            (2, "drop run", "Ada", "rider gave up", None),
        ]
        assert dict(journal[1].data) == {"run": "2"}
        assert journal[0].sha256 is not None
        assert notebook.content(journal[0].sha256) == TABLE.data
        summaries = trials(notebook)
        assert [(s.trial.name, s.entry_count, s.trial.build_name) for s in summaries] == [
            ("first day", 2, "kart"),
            ("loose", 0, None),
        ]
        assert summaries[0].last_at == journal[1].made_at
        assert summaries[1].last_at is None


def test_the_latest_choice_of_its_kind_is_found_again(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        begin(notebook)
        begin(notebook, "second day")
        for name, speed in (("first day", "km/h"), ("second day", "mph")):
            choice = {"header": "t,v", "columns": {"v": speed}}
            add_entries(notebook, name, [EntryToKeep("columns", choice)], author="Kim")
        add_entries(notebook, "first day", [EntryToKeep("columns", {"header": "other"})], author="Kim")
        found = last_entry_like(notebook, "columns", "header", "t,v")
        assert found is not None
        assert found.data["columns"] == {"v": "mph"}
        assert last_entry_like(notebook, "columns", "header", "none") is None


def test_names_are_judged_and_not_taken_twice(notebook: Notebook) -> None:
    begin(notebook)
    with pytest.raises(NotebookError, match=r"There is a trial called 'first day' already(.|\n)*trial add 'first day'"):
        begin(notebook, "FIRST DAY")
    with pytest.raises(NotebookError, match="The name of the trial is refused"):
        begin(notebook, "a/b")
    with pytest.raises(NotebookError, match=r"no trial called 'x'(.|\n)*there is: first day(.|\n)*trial new 'x'"):
        find_trial(notebook, "x")
    with pytest.raises(NotebookError, match="There is no build called 'none'"):
        begin(notebook, "third", build_name="none")
    assert [one.trial.name for one in trials(notebook)] == ["first day"]


def test_an_entry_that_cannot_be_kept_keeps_nothing_of_its_company(notebook: Notebook) -> None:
    begin(notebook)
    for bad in (
        EntryToKeep("file", {"x": float("nan")}),
        EntryToKeep("file", {"x": object()}),
        EntryToKeep("", {}),
        EntryToKeep("file", {}, "\x1b"),
        EntryToKeep("file", {}, file=FileToAttach("a/b", "text/csv", b"")),
    ):
        with pytest.raises(NotebookError):
            add_entries(notebook, "first day", [EntryToKeep("file", {}), bad], author="Kim")
    with pytest.raises(NotebookError, match="author"):
        add_entries(notebook, "first day", [EntryToKeep("file", {})], author="")
    assert find_trial(notebook, "first day")[1] == []
    assert canonical({"b": "ü", "a": [1, None]}) == '{"a":[1,null],"b":"ü"}'


TAMPERING = [
    "UPDATE trial_entries SET note = 'better'",
    "DELETE FROM trial_entries",
    "DELETE FROM trials WHERE name = 'first day'",
    "UPDATE trials SET id = 'other' WHERE name = 'first day'",
]


@pytest.mark.parametrize("statement", TAMPERING)
def test_no_program_can_change_the_journal(where: str, statement: str) -> None:
    with open_notebook(where, create=True) as notebook:
        drive(notebook)
        before = everything(notebook)
        if "://" in where:
            with psycopg.connect(where) as other, pytest.raises(psycopg.Error, match=r"never changed|foreign key"):
                other.execute(statement)
        else:
            with closing(sqlite3.connect(where)) as raw:
                raw.execute("PRAGMA foreign_keys = ON")
                with pytest.raises(sqlite3.IntegrityError, match=r"never changed|FOREIGN KEY"):
                    raw.execute(statement)
        assert everything(notebook) == before


def test_an_entry_is_not_replaced_by_a_program_without_our_settings(path: Path) -> None:
    with open_notebook(path) as notebook:
        drive(notebook)
    with closing(sqlite3.connect(path)) as raw, pytest.raises(sqlite3.IntegrityError, match="never changed"):
        raw.execute(
            "INSERT OR REPLACE INTO trial_entries SELECT 'x', trial_id, number, kind, author, 'better', made_at, data, "
            "sha256, file_name, media_type FROM trial_entries"
        )


def test_trials_go_out_and_come_back_with_nothing_lost(where: str, path: Path, tmp_path: Path) -> None:
    with open_notebook(where, create=True) as source:
        drive(source)
        export(source, tmp_path / "one.zip")
        before = everything(source)
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(path) as target:
        restore(archive, target)
        assert everything(target) == before
        export(target, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    index = index_of(entries_of(tmp_path / "one.zip"))
    assert index["format_version"] == 2
    assert [trial["name"] for trial in index["trials"]] == ["first day", "loose"]


def test_a_trial_alone_fills_a_notebook(notebook: Notebook, path: Path, tmp_path: Path) -> None:
    begin(notebook)
    export(notebook, tmp_path / "one.zip")
    with (
        open_archive(tmp_path / "one.zip") as archive,
        pytest.raises(NotebookError, match="builds or trials in it already"),
    ):
        restore(archive, notebook)


CONTRADICTIONS: list[tuple[str, Callable[[Any], Any], str]] = [
    ("entries with a gap", lambda t: t["entries"][1].update(number=3), "not numbered 1, 2, 3 without a gap"),
    (
        "no such build",
        lambda t: t.update(build_id="0" * 8 + t["build_id"][8:]),
        "a revision that is missing",
    ),
    ("a build without revision", lambda t: t.update(revision_number=None), "a build without a revision"),
    ("data that is none", lambda t: t["entries"][0].update(data="[]"), "is no object"),
    ("data with spaces", lambda t: t["entries"][0].update(data='{"a": 1}'), "not written as the notebook writes it"),
    ("another size", lambda t: t["entries"][0]["file"].update(size_bytes=1), "not as many as"),
    ("two entries alike", lambda t: t["entries"][1].update(id=t["entries"][0]["id"]), "two entries are the same"),
]


@pytest.mark.parametrize(
    ("change", "reason"), [case[1:] for case in CONTRADICTIONS], ids=[c[0] for c in CONTRADICTIONS]
)
def test_an_archive_of_trials_that_cannot_be_true(
    notebook: Notebook, tmp_path: Path, change: Callable[[Any], Any], reason: str
) -> None:
    drive(notebook)
    export(notebook, tmp_path / "one.zip")
    entries = entries_of(tmp_path / "one.zip")
    index = index_of(entries)
    change(index["trials"][0])
    with (
        pytest.raises(NotebookError, match=reason),
        open_archive(pack(tmp_path / "x.zip", with_index(entries, index))),
    ):
        pytest.fail("the archive was accepted")


def test_an_export_without_trials_is_what_it_was_before_there_were_any(notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "one.zip")
    text = entries_of(tmp_path / "one.zip")["notebook.json"]
    assert b"trials" not in text
    assert b'"format_version": 1' in text
