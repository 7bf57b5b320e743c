"""Real processes, and real signals sent to them."""

import asyncio
import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest

from scribeline.errors import JobError
from scribeline.web import workers as workers_module
from scribeline.web.workers import Job, Limits, Workers
from tests.web import jobs
from tests.web.loops import run

ROOT = Path(__file__).resolve().parents[2]


@asynccontextmanager
async def open_workers(count: int = 1, **kwargs: Any) -> AsyncIterator[Workers]:
    workers = Workers(count, **kwargs)
    try:
        yield workers
    finally:
        await workers.close()


async def first_progress(job: Job) -> Any:
    told: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
    job.on_progress(lambda value: told.done() or told.set_result(value))
    return await told


def is_alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{process_id}/stat").read_text().rpartition(")")[2].split()[0] != "Z"


def test_a_job_is_done_in_another_process_that_is_used_again() -> None:
    async def story() -> None:
        async with open_workers() as workers:
            first = await workers.start(jobs.add, 2.5, other=4.0).wait()
            second = await workers.start(jobs.add, 1.0, 1.0).wait()
        assert (first.state, first.error, first.ended) == ("done", None, True)
        assert first.result[0] == 6.5
        assert first.result[1] == second.result[1] != os.getpid()

    run(story())


def test_progress_comes_in_order_and_all_of_it() -> None:
    async def story() -> None:
        told: list[Any] = []
        async with open_workers() as workers:
            job = workers.start(jobs.count_up, 500)
            job.on_progress(told.append)
            assert await job.outcome() == "counted"
        assert told == [{"at": number} for number in range(500)]
        assert job.progress == {"at": 499}

    run(story())


def test_a_listener_that_fails_takes_nobody_with_it() -> None:
    async def story() -> None:
        complaints: list[dict[str, Any]] = []
        asyncio.get_running_loop().set_exception_handler(lambda loop, context: complaints.append(context))
        told: list[Any] = []
        async with open_workers() as workers:
            job = workers.start(jobs.count_up, 2)
            job.on_progress(lambda value: 1 / 0)
            job.on_progress(told.append)
            assert await job.outcome() == "counted"
        assert len(told) == len(complaints) == 2

    run(story())


def test_a_job_that_was_asked_to_stop_gives_what_it_has() -> None:
    async def story() -> None:
        async with open_workers() as workers:
            job = workers.start(jobs.until_stopped, what="The search")
            process_id = await first_progress(job)
            job.stop()
            await job.wait()
            assert (job.state, job.result, job.error) == ("stopped", "what there was by then", None)
            assert workers.process_ids == [process_id]
            assert (await workers.start(jobs.add, 1, 1).outcome())[1] == process_id

    run(story())


def test_a_job_that_does_not_listen_is_ended_after_the_grace_time_and_the_next_is_done() -> None:
    async def story() -> None:
        async with open_workers(grace_s=0.2) as workers:
            job = workers.start(jobs.deaf, what="The curve")
            process_id = await first_progress(job)
            following = workers.start(jobs.add, 1, 2)
            job.stop()
            await job.wait()
            assert job.state == "stopped"
            assert job.error is not None
            assert "The curve was stopped, as asked" in job.error
            assert (await following.outcome())[0] == 3
            assert not is_alive(process_id)

    run(story())


def test_a_job_whose_result_is_wanted_may_take_longer_than_the_grace_time() -> None:
    async def story() -> None:
        async with open_workers(grace_s=0.01) as workers:
            job = workers.start(jobs.brings_together, 0.3)
            await first_progress(job)
            job.stop(within_s=30.0)
            await job.wait()
            assert (job.state, job.result, job.error) == ("stopped", "what there was by then", None)

    run(story())


def test_a_waiting_job_can_be_stopped() -> None:
    async def story() -> None:
        async with open_workers(grace_s=0.1) as workers:
            running = workers.start(jobs.deaf)
            waiting = workers.start(jobs.add, 1, 2)
            waiting.stop()
            assert waiting.state == "stopped"
            assert await waiting.wait() is waiting
            assert not running.ended

    run(story())


def test_a_killed_worker_takes_only_its_own_job_and_is_replaced() -> None:
    async def story() -> None:
        async with open_workers(2) as workers:
            one, other = (
                workers.start(jobs.until_stopped, what="The power curve"),
                workers.start(jobs.until_stopped, quick=True),
            )
            killed, spared = await asyncio.gather(first_progress(one), first_progress(other))
            os.kill(killed, signal.SIGKILL)
            await one.wait()
            assert one.state == "died"
            assert one.error is not None
            assert "The power curve ended without an answer" in one.error
            assert "memory" in one.error
            assert "kept: everything you entered" in one.error
            assert "what to do: start it again" in one.error
            with pytest.raises(JobError, match="The power curve"):
                await one.outcome()
            assert not other.ended
            assert (await workers.start(jobs.add, 1, 2).outcome())[1] not in (killed, spared)
            other.stop()
            assert (await other.wait()).result == "what there was by then"

    run(story())


def test_a_worker_that_breaks_says_how() -> None:
    async def story() -> None:
        async with open_workers() as workers:
            job = await workers.start(jobs.ends_itself, int(signal.SIGSEGV)).wait()
            assert job.state == "died"
            assert job.error is not None
            assert "SIGSEGV" in job.error

    run(story())


@pytest.mark.parametrize(
    ("function", "kind", "said"),
    [
        (jobs.refuses, "TrialError", "no runs\n    accepted: two or more\n    what to do: drive again"),
        (jobs.breaks, "ZeroDivisionError", "a fault in scribeline (ZeroDivisionError: a fault)"),
        (jobs.returns_what_cannot_travel, "", "a fault in scribeline"),
    ],
)
def test_a_job_that_fails_says_why_and_its_worker_goes_on(function: Callable[..., Any], kind: str, said: str) -> None:
    async def story() -> None:
        async with open_workers() as workers:
            job = await workers.start(function, what="The comparison").wait()
            assert job.state == "failed"
            assert job.error is not None
            assert said in job.error
            assert not kind or job.error_kind == kind
            assert (await workers.start(jobs.add, 1, 2).outcome())[0] == 3

    run(story())


def test_what_cannot_be_sent_is_refused_at_once() -> None:
    async def story() -> None:
        async with open_workers() as workers:
            with pytest.raises(Exception, match="pickle"):
                workers.start(lambda **kwargs: None)

    run(story())


def test_a_quick_job_does_not_wait_behind_long_ones() -> None:
    async def story() -> None:
        async with open_workers(2, grace_s=0.1) as workers:
            long = [workers.start(jobs.deaf) for _ in range(2)]
            await first_progress(long[0])
            assert (await workers.start(jobs.add, 1, 2, quick=True).outcome())[0] == 3
            assert [job.state for job in long] == ["running", "waiting"]

    run(story())


def test_memory_beyond_the_limit_fails_the_job_and_not_the_worker() -> None:
    async def story() -> None:
        async with open_workers() as workers:
            job = await workers.start(jobs.takes_memory, 600, limits=Limits(memory_mib=200)).wait()
            assert (job.state, job.error_kind) == ("failed", "MemoryError")
            assert job.error is not None
            assert "more memory than it may have" in job.error
            assert await workers.start(jobs.takes_memory, 600).outcome() == 600 * 1024**2  # the limit is lifted again

    run(story())


def test_processor_time_beyond_the_limit_ends_the_worker() -> None:
    async def story() -> None:
        async with open_workers() as workers:
            job = await workers.start(jobs.takes_processor_time, 30, limits=Limits(cpu_s=1)).wait()
            assert job.state == "died"
            assert job.error is not None
            assert "more processor time than it may" in job.error
            assert (await workers.start(jobs.add, 1, 2).outcome())[0] == 3

    run(story())


def test_what_is_slow_is_loaded_while_nobody_waits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    marks = tmp_path / "marks"
    monkeypatch.setenv("SCRIBELINE_TEST_MARKS", str(marks))

    async def story() -> None:
        preload = ["json", "no.such.module", "tests.web.jobs:slow_to_load", "tests.web.jobs:slow_to_load"]
        async with open_workers(preload=preload) as workers:
            workers.open()
            await wait_for(lambda: marks.exists() and marks.read_text() == "loaded\n")
            assert (await workers.start(jobs.add, 1, 2).outcome())[0] == 3  # after one more at most
            await wait_for(lambda: marks.read_text() == "loaded\nloaded\n")

    run(story())


def test_the_first_process_may_begin_before_there_is_an_event_loop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It loads meanwhile, and the loop takes it over; a second one starts only once it is needed, or after a while."""
    monkeypatch.setenv("SCRIBELINE_TEST_MARKS", str(tmp_path))
    workers = Workers(2, preload=["tests.web.jobs:loads_until_told"], later_s=600.0)
    workers.begin()
    wait_until((tmp_path / "loading").exists)
    (tmp_path / "go on").touch()

    async def story() -> None:
        workers.open()
        first = (await workers.start(jobs.add, 1, 2, quick=True).outcome())[1]
        assert workers.process_ids == [first]
        second = (await workers.start(jobs.add, 1, 2).outcome())[1]
        assert set(workers.process_ids) == {first, second}
        assert first != second
        await workers.close()
        assert not is_alive(first)
        assert not is_alive(second)

    run(story())


def test_the_other_processes_follow_after_a_while(tmp_path: Path) -> None:
    async def story() -> None:
        async with open_workers(2, later_s=0.2) as workers:
            workers.open()
            await wait_for(lambda: len(workers.process_ids) == 2)

    run(story())


def test_a_begun_process_that_died_before_the_loop_is_replaced() -> None:
    async def story(process_id: int) -> None:
        os.kill(process_id, signal.SIGKILL)
        workers.open()
        assert (await workers.start(jobs.add, 1, 2, quick=True).outcome())[1] != process_id
        await workers.close()

    workers = Workers(2)
    workers.begin()
    assert workers._begun is not None
    process_id = workers._begun[0].pid
    assert process_id is not None
    run(story(process_id))


def test_a_job_that_is_stopped_before_its_process_takes_it_up_costs_no_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A process that still imports is asked, and not ended when the grace time is over: it would begin anew."""
    ran = tmp_path / "ran"
    monkeypatch.setenv("SCRIBELINE_TEST_MARKS", str(tmp_path))

    async def story() -> None:
        async with open_workers(grace_s=0.02, preload=["tests.web.jobs:loads_until_told"]) as workers:
            workers.open()
            await wait_for((tmp_path / "loading").exists)
            job = workers.start(jobs.leaves_a_mark, ran)
            await wait_for(lambda: job.state == "running")
            (pid,) = workers.process_ids
            job.stop()
            await asyncio.sleep(0.1)  # five times the grace time
            (tmp_path / "go on").touch()
            assert (await job.wait()).state == "stopped"
            assert (await workers.start(jobs.add, 1, 2).outcome())[1] == pid
            assert not ran.exists()

    run(story())


async def wait_for(condition: Callable[[], bool]) -> None:
    while not condition():
        await asyncio.sleep(0.01)


def test_workers_that_never_come_up_leave_nobody_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    async def story() -> None:
        monkeypatch.setattr(workers_module, "work", jobs.dies_at_import)
        async with open_workers() as workers:
            job = await workers.start(jobs.add, 1, 2, what="The curve").wait()
            assert job.state == "failed"
            assert job.error is not None
            assert "The curve could not be started" in job.error

    run(story())


def test_closing_stops_every_job_and_ends_every_process() -> None:
    async def story() -> None:
        workers = Workers(2, grace_s=0.2)
        listening, deaf = workers.start(jobs.until_stopped), workers.start(jobs.deaf, quick=True)
        waiting = workers.start(jobs.add, 1, 2)
        processes = await asyncio.gather(first_progress(listening), first_progress(deaf))
        await workers.close()
        assert [job.state for job in (listening, deaf, waiting)] == ["stopped"] * 3
        assert listening.result == "what there was by then"
        assert not any(is_alive(process_id) for process_id in processes)
        with pytest.raises(JobError, match="scribeline is ending"):
            workers.start(jobs.add, 1, 2)

    run(story())


def test_workers_end_with_a_server_that_was_killed(tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    script = tmp_path / "server.py"
    script.write_text(
        textwrap.dedent(
            f"""
            import asyncio
            from pathlib import Path
            from scribeline.web.workers import Workers
            from tests.web import jobs

            async def main():
                workers = Workers(2)
                workers.start(jobs.leaves_a_mark, Path({str(mark)!r}))
                await asyncio.sleep(60)

            if __name__ == "__main__":
                asyncio.run(main())
            """
        )
    )
    server = subprocess.Popen([sys.executable, script], cwd=ROOT, env=os.environ | {"PYTHONPATH": str(ROOT)})
    try:
        wait_until(lambda: mark.exists() and mark.read_text() != "")
        worker = int(mark.read_text())
        assert is_alive(worker)
    finally:
        server.kill()
        server.wait()
    wait_until(lambda: not is_alive(worker))


def wait_until(condition: Callable[[], bool], seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "it did not come to pass"
        time.sleep(0.02)
