"""Whether a notebook of 500 builds and 5,000 recordings stays quick, and a journal of 5,000 edits with it.

    .venv/bin/pytest benchmarks/bench_desk.py --benchmark-only

Ten trials of 500 recordings each, every one with its file of 20 kB and 4 kB of what was read of it; 500 builds with two
revisions each; one of them with 5,000 edits, the others with 20.
"""

import itertools
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.notebook import EntryToKeep, FileToAttach, Notebook, add_entries, begin_trial, open_notebook, trials
from scribeline.notebook.journal import begun, insert_edit, made, work_of
from scribeline.tasks import desk

pytestmark = pytest.mark.benchmark(timer=time.process_time)
KART = (Path(__file__).resolve().parent.parent / "examples" / "club-kart-98.toml").read_text()
EDITS = 5000
_counter = itertools.count()


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Notebook]:
    with open_notebook(tmp_path_factory.mktemp("bench") / "notebook.sqlite", create=True) as notebook:
        notebook.database.engine.dispose()
        for number in range(500):
            for note in ("as bought", "measured again"):
                text = KART.replace("as bought", f"{note} {number}")
                notebook.keep(f"barrel {number}", text, author="bench")
            _edit(notebook, f"barrel {number}", EDITS if number == 250 else 20)
        for number in range(10):
            files = [FileToAttach(f"{i}.gpx", "a/b", f"{number} {i}".encode() * 3000) for i in range(500)]
            entries = [EntryToKeep("file", {"trace": "x" * 4000}, file=file) for file in files]
            begin_trial(
                notebook, f"day {number}", build_name=f"barrel {number}", revision_number=1, note="", author="bench",
                entries=entries,
            )  # fmt: skip
        add_entries(notebook, "day 3", [EntryToKeep("note", {})], author="bench")
        yield notebook


def _edit(notebook: Notebook, name: str, count: int) -> None:
    """Edits of one number, in one transaction."""
    with notebook.database.writing("begin") as connection:
        build = notebook.build(name)
        work = work_of(connection, notebook.journals, notebook.address, build)
        last, before = begun(connection, notebook.address, work), work.document["record"]["cylinder"]["bore_mm"]
        for i in range(count):
            after = {"value": 50 + i / 1e4, "plus_minus": 0.01, "with": "bore gauge"}
            edit = made(last + i, "edit", None, "record.cylinder.bore_mm", before, after, f"bore {i}", "bench")
            insert_edit(connection, build, edit)
            before = after


def test_all_builds_are_listed(benchmark: BenchmarkFixture, notebook: Notebook) -> None:
    assert len(benchmark(notebook.builds)) == 500


def test_all_trials_are_listed(benchmark: BenchmarkFixture, notebook: Notebook) -> None:
    assert sum(one.entry_count for one in benchmark(trials, notebook)) == 5001


def test_the_work_in_hand_of_a_build(benchmark: BenchmarkFixture, notebook: Notebook) -> None:
    assert benchmark(desk.desk_of, "barrel 400", where=notebook).number == 21


def test_a_journal_of_5000_edits_is_played_from_its_start(benchmark: BenchmarkFixture, notebook: Notebook) -> None:
    def played() -> desk.Desk:
        notebook.journals._played.clear()
        return desk.desk_of("barrel 250", where=notebook)

    assert benchmark(played).number == EDITS + 1


def test_one_more_edit_after_5000(benchmark: BenchmarkFixture, notebook: Notebook) -> None:
    """On the clock: an edit is on the disk before it returns."""

    def edit() -> desk.Desk:
        before = desk.desk_of("barrel 250", where=notebook).document["record"].get("note")
        return desk.edit(
            "barrel 250", "record.note", f"{next(_counter)}", before=before, device="bench", label="", where=notebook
        )

    assert benchmark(edit).number > EDITS
