"""The ledger in the notebook: a journal of each build that only grows, in both databases, in and out of an export."""

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
    LedgerEntryToKeep,
    Notebook,
    add_entries,
    add_to_ledger,
    begin_trial,
    export,
    how_much_of,
    ledger_entries,
    open_archive,
    open_notebook,
    restore,
)
from tests.notebook.archives import entries_of, fill, index_of, pack, with_index
from tests.notebook.test_importing import everything

PROMISE = LedgerEntryToKeep("prediction", {"quantity": "gate time", "value": 8.0}, "before the day", 2)


def write(notebook: Notebook) -> None:
    fill(notebook)
    add_to_ledger(notebook, "KART", [PROMISE, LedgerEntryToKeep("lesson", {}, "solder before filing")], author="Kim")
    add_to_ledger(notebook, "kart", [LedgerEntryToKeep("measurement", {"of": 1, "value": 8.4})], author="Ada")
    add_to_ledger(notebook, "Küchenmoped", [LedgerEntryToKeep("lesson", {}, "drei Läufe sind zu wenig")], author="Kim")


def test_what_was_added_comes_back(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        write(notebook)
        found = ledger_entries(notebook, "Kart")
        assert [(one.number, one.kind, one.revision_number, one.author, one.note) for one in found] == [
            (1, "prediction", 2, "Kim", "before the day"),
            (2, "lesson", None, "Kim", "solder before filing"),
            (3, "measurement", None, "Ada", ""),
        ]
        assert dict(found[2].data) == {"of": 1, "value": 8.4}
        assert found[0].made_at < found[2].made_at
        assert [(one.build_name, one.number) for one in ledger_entries(notebook)] == [
            ("Küchenmoped", 1),
            ("kart", 1),
            ("kart", 2),
            ("kart", 3),
        ]


def test_how_much_there_is_grows_with_everything_that_is_added(where: str) -> None:
    with open_notebook(where, create=True) as notebook:
        write(notebook)
        seen = [how_much_of(notebook, "KART")]
        assert seen[0] == (2, 2, 3, 0, 0)
        add_to_ledger(notebook, "kart", [PROMISE], author="Kim")
        seen.append(how_much_of(notebook, "kart"))
        begin_trial(notebook, "day", build_name="kart", revision_number=None, note="", author="Kim")
        seen.append(how_much_of(notebook, "kart"))
        add_entries(notebook, "day", [EntryToKeep("settings", {})], author="Kim")
        seen.append(how_much_of(notebook, "kart"))
        notebook.keep("kart", "a = 3", author="Kim")
        seen.append(how_much_of(notebook, "kart"))
        add_to_ledger(notebook, "Küchenmoped", [LedgerEntryToKeep("lesson", {}, "x")], author="Kim")
        assert how_much_of(notebook, "kart") == seen[-1] == (3, 2, 4, 1, 1)
        assert len(set(seen)) == len(seen)


def test_an_entry_that_cannot_be_kept_keeps_nothing_of_its_company(notebook: Notebook) -> None:
    fill(notebook)
    for bad in (
        LedgerEntryToKeep("prediction", {"x": float("nan")}),
        LedgerEntryToKeep("prediction", {"x": object()}),
        LedgerEntryToKeep("", {}),
        LedgerEntryToKeep("lesson", {}, "\x1b"),
        LedgerEntryToKeep("lesson", {}, "", 9),
    ):
        with pytest.raises(NotebookError):
            add_to_ledger(notebook, "kart", [PROMISE, bad], author="Kim")
    with pytest.raises(NotebookError, match="author"):
        add_to_ledger(notebook, "kart", [PROMISE], author="")
    with pytest.raises(NotebookError, match="There is no build called 'none'"):
        add_to_ledger(notebook, "none", [PROMISE], author="Kim")
    assert ledger_entries(notebook) == []


TAMPERING = [
    "UPDATE ledger_entries SET data = '{}'",
    "UPDATE ledger_entries SET made_at = '2026-03-01T08:00:00.000001Z'",
    "DELETE FROM ledger_entries",
    "DELETE FROM ledger_entries WHERE number = 1",
]


@pytest.mark.parametrize("statement", TAMPERING)
def test_no_program_can_change_what_was_predicted(where: str, statement: str) -> None:
    with open_notebook(where, create=True) as notebook:
        write(notebook)
        before = everything(notebook)
        if "://" in where:
            with psycopg.connect(where) as other, pytest.raises(psycopg.Error, match="never changed"):
                other.execute(statement)
        else:
            with closing(sqlite3.connect(where)) as raw, pytest.raises(sqlite3.IntegrityError, match="never changed"):
                raw.execute(statement)
        assert everything(notebook) == before


def test_a_server_is_not_emptied(postgresql: str) -> None:
    with open_notebook(postgresql, create=True) as notebook:
        write(notebook)
        with psycopg.connect(postgresql) as other, pytest.raises(psycopg.Error, match="never changed"):
            other.execute("TRUNCATE ledger_entries")
        assert len(ledger_entries(notebook)) == 4


@pytest.mark.parametrize("what", ["id", "number"])
def test_an_entry_is_not_replaced_by_a_program_without_our_settings(path: Path, what: str) -> None:
    with open_notebook(path) as notebook:
        write(notebook)
    columns = "id, build_id, number, revision_number, kind, author, note, made_at, data"
    other = columns.replace("number,", "9,", 1) if what == "id" else columns.replace("id,", "'x',", 1)
    with closing(sqlite3.connect(path)) as raw, pytest.raises(sqlite3.IntegrityError, match="never changed"):
        raw.execute(f"INSERT OR REPLACE INTO ledger_entries ({columns}) SELECT {other} FROM ledger_entries")


def test_a_ledger_goes_out_and_comes_back_with_nothing_lost(where: str, path: Path, tmp_path: Path) -> None:
    with open_notebook(where, create=True) as source:
        write(source)
        export(source, tmp_path / "one.zip")
        before = everything(source)
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(path) as target:
        restore(archive, target)
        assert everything(target) == before
        export(target, tmp_path / "two.zip")
        (added,) = add_to_ledger(target, "kart", [PROMISE], author="Kim")
        assert added.number == 4
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_a_ledger_goes_into_a_server(postgresql: str, notebook: Notebook, tmp_path: Path) -> None:
    write(notebook)
    export(notebook, tmp_path / "one.zip")
    with open_archive(tmp_path / "one.zip") as archive, open_notebook(postgresql, create=True) as target:
        restore(archive, target)
        assert everything(target) == everything(notebook)


CONTRADICTIONS: list[tuple[str, Callable[[Any], Any], str]] = [
    ("a gap", lambda ledger: ledger[1].update(number=4), "not numbered 1, 2, 3 without a gap"),
    ("no such revision", lambda ledger: ledger[0].update(revision_number=3), "about a revision that is missing"),
    ("two alike", lambda ledger: ledger[1].update(id=ledger[0]["id"]), "two ledger entries are the same"),
    ("data with spaces", lambda ledger: ledger[1].update(data='{"a": 1}'), "not written as the notebook writes it"),
    ("none at all", lambda ledger: ledger.clear(), "version 4 ledgers"),
]


@pytest.mark.parametrize(
    ("change", "reason"), [case[1:] for case in CONTRADICTIONS], ids=[case[0] for case in CONTRADICTIONS]
)
def test_an_archive_of_a_ledger_that_cannot_be_true(
    notebook: Notebook, tmp_path: Path, change: Callable[[Any], Any], reason: str
) -> None:
    fill(notebook)
    add_to_ledger(notebook, "kart", [PROMISE, LedgerEntryToKeep("lesson", {}, "x")], author="Kim")
    export(notebook, tmp_path / "one.zip")
    entries = entries_of(tmp_path / "one.zip")
    index = index_of(entries)
    change(index["builds"][1]["ledger"])
    with (
        pytest.raises(NotebookError, match=reason),
        open_archive(pack(tmp_path / "x.zip", with_index(entries, index))),
    ):
        pytest.fail("the archive was accepted")


def test_an_export_without_a_ledger_is_what_it_was_before_there_were_any(notebook: Notebook, tmp_path: Path) -> None:
    fill(notebook)
    export(notebook, tmp_path / "one.zip")
    assert b"ledger" not in entries_of(tmp_path / "one.zip")["notebook.json"]
