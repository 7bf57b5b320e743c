"""A process that keeps revisions is killed at random moments, for real, many times. What it had reported is there."""

import random
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Any

from scribeline.notebook import Notebook, begin_work, edits_after, open_notebook, work_in_hand
from scribeline.notebook.entries import sha256_of
from scribeline.notebook.schema import HEAD
from tests.notebook.keeper import Keepers, photograph, record
from tests.notebook.test_schema import an_old_notebook

KILLS = 28
KILLS_OF_OPENING = 12
KILLS_OF_EDITING = 16


def let_it_work(log: Path, dice: random.Random, wait_for_report: bool, longest_s: float) -> None:
    """Leave a child some time by chance: from its start, or from its next report on."""
    reports = len(reported(log))
    give_up_at_s = time.monotonic() + 30
    while wait_for_report and len(reported(log)) == reports and time.monotonic() < give_up_at_s:
        time.sleep(0.001)
    time.sleep(dice.uniform(0.0, longest_s))


def reported(log: Path) -> list[tuple[int, int, int, str]]:
    """What the children wrote after each `keep`: number, seed, count, hash."""
    if not log.exists():
        return []
    rows = [line.split() for line in log.read_text().splitlines()]
    return [(int(number), int(seed), int(done), sha256) for number, seed, done, sha256 in rows]


def assert_sound_file(path: Path) -> None:
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []


def assert_nothing_lost_and_nothing_half(notebook: Notebook, log: Path, kills: int) -> None:
    """Every reported revision is there to the letter; every revision that is there is whole, with its file."""
    if not notebook.builds():
        assert reported(log) == []
        return
    history = {revision.number: revision for revision in notebook.history("kart")}
    assert list(history) == list(range(1, len(history) + 1))
    for number, seed, done, sha256 in reported(log):
        assert history[number].note == f"{seed} {done}"
        assert history[number].record_sha256 == sha256
    # A revision may have been kept whose report the kill cut off: at most one for each kill.
    assert len(reported(log)) <= len(history) <= len(reported(log)) + kills
    files = {file.revision_number: file for file in notebook.attachments("kart")}
    assert files.keys() == history.keys()
    for number, revision in history.items():
        seed, done = map(int, revision.note.split())
        assert revision.parent_number == (number - 1 or None)
        assert revision.record_toml == record(seed, done)
        assert files[number].sha256 == sha256_of(photograph(seed, done))
        assert sha256_of(notebook.content(files[number].sha256)) == files[number].sha256


def test_killed_while_it_keeps(keepers: Keepers, path: Path, tmp_path: Path) -> None:
    dice, log, after_a_report = random.Random(98), tmp_path / "log", 0
    for kill in range(1, KILLS + 1):
        before = len(reported(log))
        child = keepers.start(path, log, seed=kill)
        let_it_work(log, dice, wait_for_report=kill % 2 == 0, longest_s=0.08)
        assert keepers.kill(child) == -9
        after_a_report += len(reported(log)) > before
        assert_sound_file(path)
        with open_notebook(path) as notebook:
            assert_nothing_lost_and_nothing_half(notebook, log, kill)
    assert after_a_report >= KILLS // 2


def test_killed_while_it_makes_a_new_notebook(keepers: Keepers, tmp_path: Path) -> None:
    dice, made = random.Random(50), 0
    for kill in range(1, KILLS_OF_OPENING + 1):
        path, log = tmp_path / f"{kill}.sqlite", tmp_path / f"{kill}.log"
        child = keepers.start(path, log, seed=kill)
        if kill > 1:  # the first is killed at once
            let_it_work(log, dice, wait_for_report=kill == KILLS_OF_OPENING, longest_s=0.1)
        keepers.kill(child)
        with open_notebook(path, create=True) as notebook:
            made += bool(notebook.builds())
            assert_nothing_lost_and_nothing_half(notebook, log, 1)
            notebook.keep("kart", record(0, kill), author="afterwards", note="0 1")
        assert_sound_file(path)
    assert 0 < made < KILLS_OF_OPENING  # some were killed before the first revision and some after it


def test_killed_while_it_migrates(keepers: Keepers, tmp_path: Path) -> None:
    dice, migrated = random.Random(2), 0
    for kill in range(1, KILLS_OF_OPENING + 1):
        path, log = an_old_notebook(tmp_path / f"{kill}.sqlite"), tmp_path / f"{kill}.log"
        child = keepers.start(path, log, seed=kill)
        if kill > 1:
            let_it_work(log, dice, wait_for_report=kill == KILLS_OF_OPENING, longest_s=0.1)
        keepers.kill(child)
        with closing(sqlite3.connect(path)) as raw:
            step = raw.execute("SELECT version_num FROM notebook_version").fetchall()
            tables = {name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        assert (step, "contents" in tables) in [([("0001",)], False), ([(HEAD,)], True)]
        migrated += step == [(HEAD,)]
        assert_sound_file(path)
        for copy in tmp_path.glob(f"{kill}.before-*.sqlite"):
            assert_sound_file(copy)
        with open_notebook(path) as notebook:
            assert [revision.author for revision in notebook.history("Old barrel")] == ["Kim", "Kim", "Ada"]
    assert 0 < migrated < KILLS_OF_OPENING


def test_killed_while_it_keeps_on_a_server(keepers: Keepers, postgresql: str, tmp_path: Path) -> None:
    dice, log = random.Random(16), tmp_path / "log"
    open_notebook(postgresql, create=True).close()
    for kill in range(1, 7):
        child = keepers.start(postgresql, log, seed=kill)
        let_it_work(log, dice, wait_for_report=kill % 2 == 0, longest_s=0.08)
        keepers.kill(child)
        with open_notebook(postgresql) as notebook:
            assert_nothing_lost_and_nothing_half(notebook, log, kill)
    assert reported(log)


def test_killed_while_it_edits(keepers: Keepers, where: str, tmp_path: Path) -> None:
    """Every edit that was reported is in the journal, and that plays from its start, each edit on the one before."""
    dice, log = random.Random(4), tmp_path / "log"
    with open_notebook(where, create=True) as notebook:
        begin_work(notebook, "kart", {}, note="", label="a new cylinder", device="bench")
    for kill in range(1, KILLS_OF_EDITING + 1):
        child = keepers.start(where, log, seed=kill, work="edit")
        let_it_work(log, dice, wait_for_report=kill % 2 == 0, longest_s=0.05)
        assert keepers.kill(child) == -9
        with open_notebook(where) as notebook:
            journal = edits_after(notebook, "kart", 0)
            work = work_in_hand(notebook, "kart")
        assert [one.number for one in journal] == list(range(1, len(journal) + 1))
        document: dict[str, Any] = {}
        for one in journal:
            key = one.path.removeprefix("record.")
            assert document.get(key) == (one.before if key != "record" else None)
            if one.after is None:
                del document[key]
            elif key != "record":
                document[key] = one.after
        assert document == work.document["record"]
        devices = {one.number: one.device for one in journal}
        for number, seed, _, _ in reported(log):
            assert devices[number] == f"{seed}"
        assert len(reported(log)) + 1 <= len(journal) <= len(reported(log)) + 1 + kill
    assert len(reported(log)) >= KILLS_OF_EDITING // 2  # every second one was killed after a report


def test_two_writers(keepers: Keepers, where: str, tmp_path: Path) -> None:
    """Both begin at the same moment, on a notebook that is not there yet; neither's revision is lost."""
    count = 25
    logs = [tmp_path / "one", tmp_path / "two"]
    children = [keepers.start(where, log, seed, count) for seed, log in enumerate(logs, 1)]
    assert [keepers.wait(child) for child in children] == [0, 0]
    numbers = sorted(number for log in logs for number, *_ in reported(log))
    assert numbers == list(range(1, 2 * count + 1))
    with open_notebook(where) as notebook:
        history = notebook.history("kart")
        assert [revision.parent_number for revision in history] == [None, *range(1, 2 * count)]
        by_seed = [int(revision.note.split()[0]) for revision in history]
        assert by_seed.count(1) == by_seed.count(2) == count
