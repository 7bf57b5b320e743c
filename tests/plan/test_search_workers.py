"""Designs judged in worker processes: the same search as without, and nothing lost or left behind however it ends.

The processes are real, and so are the signals; the simulator is the real one over three speeds.
"""

import json
import multiprocessing
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from scribeline.plan.merits import SEARCH, Speeds, merits_of, sweep_many
from scribeline.plan.search import Found, Judge, search
from scribeline.plan.search_goals import goal_of
from scribeline.plan.search_judging import SIMULATED, PlanSearch
from scribeline.plan.search_plans import WORTH_PROCESSES, find_plans, starts
from scribeline.plan.search_space import space_for
from scribeline.plan.search_workers import Workers
from scribeline.plan.typed_gaskets import box_of
from tests.examples import KART, edited, path_of

SPACE = space_for(edited(name=KART), box_of("base 0.2, head 0.4"), keep=("intake", "pipe", "head"))
OVER = Speeds((8000.0, 9000.0, 10000.0), (8000.0, 10000.0), (8000.0, 9000.0))
GOAL = goal_of("8000:10000")
EVALUATIONS = 56  # more than one generation, and its budget ends within one


@pytest.fixture(scope="module")
def one() -> PlanSearch:
    """A search that may begin: today's engine is simulated."""
    begun = PlanSearch(SPACE, GOAL, OVER, None)
    (today,) = sweep_many([SPACE.record], OVER.points, SEARCH, side_by_side=False, held=begun.begun)
    begun.quick_before.update(merits_of(today, OVER))
    return begun


def searched(
    one: PlanSearch, judge: Judge, journal: Path, progress: Callable[[Found, int], bool | None] | None = None
) -> tuple[str, str]:
    """What is found, every number of it to its last bit, and its journal."""
    found = search(
        SPACE.variables, judge, aims=len(one.aimed) + 1, limits=len(SIMULATED), first=starts(SPACE),
        evaluations=EVALUATIONS, journal=journal, progress=progress,
    )  # fmt: skip
    return repr(found), journal.read_text()


def rounded(found: tuple[str, str]) -> list[str]:
    """All numbers to six digits.

    A process that has just compiled the kernels rounds the last bits otherwise than one that found them compiled.
    """
    return [re.sub(r"-?\d+\.\d+(e[-+]?\d+)?", lambda number: f"{float(number[0]):.6g}", text) for text in found]


@pytest.fixture(scope="module")
def whole(one: PlanSearch, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """The search without any worker process."""
    return searched(one, one.judge, tmp_path_factory.mktemp("whole") / "search.json")


def alive(pid: int) -> bool:
    """Whether a process is there and no mere entry of a table."""
    state = Path(f"/proc/{pid}/stat")
    try:
        os.kill(pid, 0)
        return not state.exists() or state.read_text().rpartition(")")[2].split()[0] != "Z"
    except (ProcessLookupError, FileNotFoundError):
        return False


def gone(pids: list[int], within_s: float = 20.0) -> bool:
    until = time.monotonic() + within_s
    while any(map(alive, pids)) and time.monotonic() < until:
        time.sleep(0.05)
    return not any(map(alive, pids))


# --- the same search -----------------------------------------------------------------------------------------------


def test_with_any_number_of_processes_a_search_is_the_same(
    one: PlanSearch, whole: tuple[str, str], tmp_path: Path
) -> None:
    """What was tried, what was refused and by how much, and the journal: of one and two to the last bit."""
    found = []
    for processes in (1, 2):
        with Workers(processes) as workers:
            workers.begin(one)
            pids = workers.process_ids
            assert len(pids) == processes
            found.append(searched(one, workers.judge, tmp_path / f"{processes}.json"))
        assert gone(pids, 0.0)
    assert found[0] == found[1]
    assert rounded(found[0]) == rounded(whole)
    assert found[0][0].count("Tried(") == EVALUATIONS
    assert "Refused(" in found[0][0]


def test_plans_are_the_same_and_every_core_has_a_process(tmp_path: Path) -> None:
    pids: list[int] = []
    begin = Workers.begin

    def noted(self: Workers, one: PlanSearch) -> None:
        pids[:] = self.process_ids
        begin(self, one)

    found = []
    for apart in (False, True):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Workers, "begin", noted)
            found.append(find_plans(SPACE, GOAL, evaluations=24, speeds=OVER, draws=1, most_plans=2, apart=apart))
        assert len(pids) == (2 if apart else 0)
    threads, processes = (
        rounded(("", repr([(one.steps, one.gain, one.merits, one.lost) for one in each.plans]))) for each in found
    )
    assert threads == processes
    assert found[0].plans
    assert gone(pids, 0.0)


def test_a_small_search_starts_no_process(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    class StopError(Exception):
        pass

    def noted(self: Workers, processes: int) -> None:
        asked.append(processes)
        raise StopError

    monkeypatch.setattr(Workers, "__init__", noted)
    for evaluations, cores in ((WORTH_PROCESSES - 1, 2), (WORTH_PROCESSES, 2), (WORTH_PROCESSES, 1)):
        with pytest.raises(StopError):
            find_plans(SPACE, GOAL, evaluations=evaluations, speeds=OVER, cores=cores)
    assert asked == [0, 2, 0]


# --- ends before its time ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("killed", [1, 2], ids=["one of two", "both"])
def test_a_worker_that_is_killed_costs_nothing(
    one: PlanSearch, whole: tuple[str, str], tmp_path: Path, killed: int
) -> None:
    """Its designs go to the other; where none is left, they are judged here."""
    with Workers(2) as workers:
        workers.begin(one)
        pids = workers.process_ids

        def kill(found: Found, most: int) -> None:
            if len(found.tried) == 5:
                for pid in pids[:killed]:
                    os.kill(pid, signal.SIGKILL)

        found = searched(one, workers.judge, tmp_path / "search.json", kill)
        assert workers.process_ids == pids[killed:]
    assert rounded(found) == rounded(whole)


def test_one_that_is_killed_while_it_starts_costs_nothing(
    one: PlanSearch, whole: tuple[str, str], tmp_path: Path
) -> None:
    with Workers(1) as workers:
        os.kill(workers.process_ids[0], signal.SIGKILL)
        workers.begin(one)
        assert rounded(searched(one, workers.judge, tmp_path / "search.json")) == rounded(whole)


def test_where_no_process_can_be_started_it_is_done_without(
    one: PlanSearch, whole: tuple[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", str(tmp_path / "none"))
    with Workers(2) as workers:
        workers.begin(one)
        assert workers.process_ids == []
        assert rounded(searched(one, workers.judge, tmp_path / "search.json")) == rounded(whole)


def test_what_a_stopped_generation_still_tells_is_let_go(
    one: PlanSearch, whole: tuple[str, str], tmp_path: Path
) -> None:
    """Stopped in the midst of it, then asked for the whole by the same processes."""
    with Workers(2) as workers:
        workers.begin(one)
        stopped, _ = searched(one, workers.judge, tmp_path / "stopped.json", lambda found, most: len(found.tried) > 2)
        assert "finished=False" in stopped
        assert rounded(searched(one, workers.judge, tmp_path / "search.json")) == rounded(whole)


SCRIPT = """
import sys
from pathlib import Path
from scribeline.engine import read_record_file
from scribeline.plan.search_goals import goal_of
from scribeline.plan.search_plans import find_plans
from scribeline.plan.search_space import space_for
from scribeline.plan.search_workers import Workers
print("begun", flush=True)
begin = Workers.begin
def noted(self, one):
    print("workers", *self.process_ids, flush=True)
    begin(self, one)
Workers.begin = noted
def told(what, done, of, best):
    print(what, done, flush=True)
space = space_for(read_record_file(Path(sys.argv[1])), keep=("intake", "pipe", "head"))
found = find_plans(
    space, goal_of("8000:10000"), evaluations=900, journal=Path(sys.argv[2]), draws=1, most_plans=1, progress=told
)
print("ended", found.finished, found.evaluated, flush=True)
"""
"""As a user may write it: it runs when it is imported, and nothing guards it."""


@pytest.fixture
def script(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    file = tmp_path / "own.py"
    file.write_text(SCRIPT)
    command = [sys.executable, str(file), str(path_of(KART)), str(tmp_path / "search.json")]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as process:
        yield process
        process.kill()


def begun(script: subprocess.Popen[str]) -> list[int]:
    """Reads on until five engines were simulated; the process numbers of its workers."""
    assert script.stdout is not None
    assert script.stdout.readline() == "begun\n"
    words = script.stdout.readline().split()
    assert words[0] == "workers"
    assert len(words) == 3
    for line in script.stdout:
        if line == "searching 5\n":
            break
    pids = [int(word) for word in words[1:]]
    assert all(map(alive, pids))
    return pids


def test_a_script_without_a_guard_that_is_interrupted_ends_with_what_it_has(
    script: subprocess.Popen[str], tmp_path: Path
) -> None:
    """Ctrl-C on a terminal goes to every process of the group."""
    pids = begun(script)
    os.killpg(script.pid, signal.SIGINT)
    out, err = script.communicate(timeout=60)
    assert err == ""
    assert "begun" not in out
    *_, last = out.splitlines()
    said, finished, evaluated = last.split()
    assert (said, finished) == ("ended", "False")
    assert 5 <= int(evaluated) <= len(json.loads((tmp_path / "search.json").read_text())["tried"])
    assert script.returncode == 0
    assert gone(pids, 0.0)


def test_where_a_search_is_killed_its_workers_end(script: subprocess.Popen[str]) -> None:
    pids = begun(script)
    script.kill()
    assert gone(pids)


def of_a_page(told: "multiprocessing.connection.Connection") -> None:
    """What a page's worker process does: it may have no children of its own kind."""
    begin = Workers.begin

    def noted(self: Workers, one: PlanSearch) -> None:
        told.send(self.process_ids)
        begin(self, one)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Workers, "begin", noted)
        find_plans(
            SPACE, GOAL, evaluations=900, speeds=OVER, draws=1, most_plans=1, apart=True,
            progress=lambda what, done, of, best: told.send(done),
        )  # fmt: skip


def test_a_page_whose_process_is_ended_leaves_nobody_behind() -> None:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=of_a_page, args=(theirs,), daemon=True)
    process.start()
    theirs.close()
    pids = ours.recv()
    assert len(pids) == 2
    assert ours.recv() == 1
    assert all(map(alive, pids))
    process.kill()
    process.join()
    assert gone(pids)
