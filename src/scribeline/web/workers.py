"""Worker processes: what takes longer than a blink runs in one of them, so that the page never waits for it.

    workers = Workers(2, preload=["scribeline.tasks.curve"])
    job = workers.start(curve_of, document, what="The power curve")
    job.on_progress(show)                   # called on the event loop, with each value that the function tells
    await job.wait()
    job.state                               # "done": job.result; "failed", "died", "stopped": job.error, a sentence

The function stands at the top level of a module and takes, besides its own arguments, `tell` (give it any value that
can be pickled) and `stopped` (ask it now and then, and come to an end when it says True). Processes are spawned, never
forked, and are used again. One that dies, by kill or for want of memory, takes only its own job with it: the job says
so, and another process takes its place. Everything here is called on the event loop; a thread per process listens.

One of the processes is kept for quick jobs (`quick=True`), so that a photograph does not wait behind a search. It is
the first to start, even before there is an event loop where `begin` is called (web/warm.py); the others follow once
nobody waits for the first page any longer, or a job waits for them.
"""

import asyncio
import contextlib
import multiprocessing
import signal
import threading
from collections import deque
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.reduction import ForkingPickler
from typing import Any, Literal

from scribeline.errors import JobError, Problem
from scribeline.web.worker_process import Limits, work

__all__ = ["Job", "Limits", "State", "Workers"]

State = Literal["waiting", "running", "done", "stopped", "failed", "died"]
GRACE_S = 3.0  # judgement: a simulated speed takes about a second, and a job asks between two of them
LATER_S = 3.0  # judgement: the first page is out by then, and was not slowed by a second process that loads
MOST_FAILED_STARTS = 3

_SPAWN = multiprocessing.get_context("spawn")


class Job:
    """One piece of work in a worker process. `Workers.start` makes it.

    state : waiting, running, done, stopped, failed (the function refused or broke) or died (its process did)
    progress : what the function told last; None before
    result : what it returned; after `stop`, what it had by then, or None
    error : the sentence for the builder; None while there is none
    error_kind, problems : name of the error's class, such as RecordError, and the Problems that it listed
    """

    def __init__(self, workers: "Workers", payload: bytes, what: str, limits: Limits | None, quick: bool) -> None:
        self.what = what
        self.state: State = "waiting"
        self.progress: Any = None
        self.result: Any = None
        self.error: str | None = None
        self.error_kind: str | None = None
        self.problems: list[Problem] = []
        self.payload, self.limits, self.quick = payload, limits, quick
        self._workers = workers
        self._stop_asked = False
        self._ended = asyncio.Event()
        self._on_progress: list[Callable[[Any], object]] = []
        self._on_end: list[Callable[[Job], object]] = []

    @property
    def ended(self) -> bool:
        """Whether nothing more will come."""
        return self.state not in ("waiting", "running")

    def on_progress(self, callback: Callable[[Any], object]) -> None:
        """Have it called with each value that the function tells, in order."""
        self._on_progress.append(callback)

    def on_end(self, callback: "Callable[[Job], object]") -> None:
        """Have it called once when the job has ended, however it ended; at once where it has already."""
        if self.ended:
            callback(self)
        else:
            self._on_end.append(callback)

    async def wait(self) -> "Job":
        """Wait for the end, however it comes. Never raises for what the job did."""
        await self._ended.wait()
        return self

    async def outcome(self) -> Any:
        """Wait for the result; JobError, with the sentence for the builder, where there is none."""
        await self._ended.wait()
        if self.state != "done":
            raise JobError(self.error or "")
        return self.result

    def stop(self, within_s: float | None = None) -> None:
        """Ask the job to come to an end; what has not by the end of the grace time is ended. Returns at once.

        within_s : the grace time, where what it has by then is wanted and takes a while to bring together, [s]
        """
        if not self.ended and not self._stop_asked:
            self._stop_asked = True
            self._workers.stop(self, within_s)

    def told(self, value: Any) -> None:
        """Take in progress."""
        self.progress = value
        for callback in self._on_progress:
            _called(callback, value)

    def end(self, state: State, *, result: Any = None, error: str | None = None, kind: str | None = None) -> None:
        """Take in the end; what comes after the first is let go."""
        if self.ended:
            return
        if self._stop_asked and (state != "done" or result is None):
            error, kind = f"{self.what} was stopped, as asked.\n    kept: everything you entered", None
        self.state = "stopped" if self._stop_asked else state
        self.result, self.error, self.error_kind = result, error, kind
        self._ended.set()
        for callback in self._on_end:
            _called(callback, self)
        self._on_end.clear()  # a job may be remembered long after the pages that listened to it
        self._on_progress.clear()


class Workers:
    """A few worker processes and the jobs that wait for them.

    count : processes. preload : modules that each imports while it has nothing else to do, or functions given as
    module:function that it calls. grace_s : how long a job that was asked to stop may take before it is ended, [s]
    later_s : how long all but the first process wait with their start where nobody needs them, [s]
    """

    def __init__(
        self, count: int = 2, preload: Sequence[str] = (), grace_s: float = GRACE_S, later_s: float = LATER_S
    ) -> None:
        self.grace_s, self._later_s = grace_s, later_s
        self._begun: _Process | None = None
        self._preload = tuple(preload)
        self._count = count
        self._waiting: deque[Job] = deque()
        self._workers: list[_Worker] = []
        self._closing = False

    @property
    def process_ids(self) -> list[int]:
        """Process numbers of the workers that stand ready or work."""
        return [worker.process.pid for worker in self._workers if worker.process and worker.process.pid]

    def begin(self) -> None:
        """Start the first process already, where there is no event loop yet: it loads while the server itself does."""
        if self._begun is None and not self._workers:
            self._begun = _process(self._preload)

    def open(self) -> None:
        """Start the processes, so that the first job finds them warm; `start` does it where nobody has."""
        if not self._workers and not self._closing:
            loop, last = asyncio.get_running_loop(), self._count - 1
            self._workers = [
                _Worker(
                    self, loop, self._preload, only_quick=0 < number == last,
                    begun=self._begun if number == last else None, wait_s=0.0 if number == last else self._later_s,
                )
                for number in range(self._count)
            ]  # fmt: skip

    def start(
        self,
        function: Callable[..., Any],
        /,
        *args: Any,
        what: str = "The work",
        limits: Limits | None = None,
        quick: bool = False,
        **kwargs: Any,
    ) -> Job:
        """Have `function(*args, tell=..., stopped=..., **kwargs)` done in a worker process.

        what : how its sentences name it, such as "The power curve". limits : for work on something from outside.
        quick : it takes no more than a few seconds, so it may have the process that is kept for such.

        Arguments are pickled here and now: pass the path of a file rather than what is in it.
        """
        if self._closing:
            raise JobError(f"{what} was not started: scribeline is ending.\n    what to do: start it again")
        job = Job(self, bytes(ForkingPickler.dumps((function, args, kwargs))), what, limits, quick)
        self.open()
        self._waiting.append(job)
        self.give_out()
        return job

    def stop(self, job: Job, within_s: float | None = None) -> None:
        """What `Job.stop` does."""
        if job in self._waiting:
            self._waiting.remove(job)
            job.end("stopped")
        for worker in self._workers:
            if worker.job is job:
                worker.ask_to_stop(self.grace_s if within_s is None else within_s)

    def give_out(self) -> None:
        """Give waiting jobs to free workers, the oldest that each may have; the one for quick jobs comes first."""
        for worker in reversed(self._workers):
            while worker.free:
                job = next((job for job in self._waiting if job.quick or not worker.only_quick), None)
                if job is None:
                    break
                self._waiting.remove(job)
                worker.take(job)
        if any(not job.quick or self._workers[-1].job is not None for job in self._waiting):
            for worker in self._workers:  # the first to start may not, or cannot, take it
                worker.needed.set()

    def cannot_start(self) -> None:
        """Worker processes do not come up: nobody is left waiting for them."""
        while self._waiting:
            job = self._waiting.popleft()
            sentence = (
                f"{job.what} could not be started: the computer starts no further process.\n"
                "    kept: everything you entered\n"
                "    what to do: close other programs, then try again; if that does not help, start scribeline anew"
            )
            job.end("failed", error=sentence)

    async def close(self) -> None:
        """Stop every job and end every process; after the grace time by force."""
        self._closing = True
        for job in [*self._waiting, *(worker.job for worker in self._workers if worker.job)]:
            job.stop()
        for job in [worker.job for worker in self._workers if worker.job]:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(job.wait(), self.grace_s + 1.0)
        for worker in self._workers:
            worker.end()
        for worker in self._workers:
            await asyncio.to_thread(worker.thread.join, 5.0)


class _Worker:
    """One place for a process: a thread that starts it, listens to it and starts the next when it has died.

    What is known of the process changes on the event loop alone, in the order in which the thread learned of it.
    """

    def __init__(
        self, workers: Workers, loop: asyncio.AbstractEventLoop, preload: tuple[str, ...], *, only_quick: bool,
        begun: "_Process | None", wait_s: float,
    ) -> None:  # fmt: skip
        self.workers, self.loop, self.preload, self.only_quick = workers, loop, preload, only_quick
        self._begun, self._wait_s = begun, wait_s
        self.needed = threading.Event()
        self.job: Job | None = None
        self.begun = False  # the process has taken the job up; before that it may still import
        self.stop_within_s: float | None = None
        self.free = False
        self.process: BaseProcess | None = None
        self.connection: Connection | None = None
        self.ending = threading.Event()
        self.killer: asyncio.TimerHandle | None = None
        self.thread = threading.Thread(target=self._run, name="worker's listener", daemon=True)
        self.thread.start()

    # --- on the event loop

    def take(self, job: Job) -> None:
        self.job, self.free, job.state = job, False, "running"
        self.begun, self.stop_within_s = False, None
        self._send(("job", job.payload, job.limits))

    def ask_to_stop(self, grace_s: float) -> None:
        self._send(("stop",))
        self.stop_within_s = grace_s
        self._hurry()

    def _hurry(self) -> None:
        """End the process in a while; one that has not begun the job yet will not, and keeps what it has imported."""
        if self.begun and self.stop_within_s is not None and self.killer is None:
            self.killer = self.loop.call_later(self.stop_within_s, self._kill)

    def end(self) -> None:
        self.ending.set()
        self.needed.set()
        self._kill()

    def _kill(self) -> None:
        if self.process is not None:
            self.process.kill()

    def _started(self, process: BaseProcess, connection: Connection) -> None:
        self.process, self.connection = process, connection
        if self.ending.is_set():
            self._kill()

    def _send(self, message: tuple[Any, ...]) -> None:
        if self.connection is not None:
            with contextlib.suppress(OSError):  # its end is told by the listener
                self.connection.send(message)

    def _heard(self, message: tuple[Any, ...]) -> None:
        kind, job = message[0], self.job
        if kind == "began":
            self.begun = True
            self._hurry()
            return
        if job is not None and kind == "tell":
            job.told(message[1])
            return
        if job is not None:
            self._let_go()
            if kind == "done":
                job.end("done", result=message[1])
            else:
                _, error_kind, sentence, job.problems = message
                job.end("failed", error=_failed(job, error_kind, sentence), kind=error_kind)
        self.free = not self.ending.is_set()
        self.workers.give_out()

    def _died(self, exit_code: int | None) -> None:
        job, self.free = self.job, False
        self.process = self.connection = None
        if job is not None:
            self._let_go()
            job.end("died", error=_died(job, exit_code))

    def _let_go(self) -> None:
        self.job = None
        if self.killer is not None:
            self.killer.cancel()
            self.killer = None

    # --- in the thread

    def _run(self) -> None:
        self.needed.wait(self._wait_s)
        failed_starts = 0
        while not self.ending.is_set():
            try:
                came_up = self._one_process()
            except OSError:
                came_up = False
            failed_starts = 0 if came_up else failed_starts + 1
            if failed_starts >= MOST_FAILED_STARTS:
                self._on_loop(self.workers.cannot_start)
            if failed_starts:
                self.ending.wait(min(0.2 * 2**failed_starts, 10.0))

    def _one_process(self) -> bool:
        """Start a process and listen until it has ended; whether it came up at all."""
        process, ours = self._begun or _process(self.preload)
        self._begun = None
        self._on_loop(self._started, process, ours)
        came_up = False
        with contextlib.suppress(EOFError, OSError):
            while True:
                message = ours.recv()
                came_up = True
                self._on_loop(self._heard, message)
        process.join()
        self._on_loop(self._died, process.exitcode)
        ours.close()
        return came_up

    def _on_loop(self, function: Callable[..., object], *args: Any) -> None:
        with contextlib.suppress(RuntimeError):  # the loop has ended, and with it everybody who would want to know
            self.loop.call_soon_threadsafe(function, *args)


_Process = tuple[BaseProcess, Connection]


def _process(preload: tuple[str, ...]) -> _Process:
    """A process that has been started, and what it is spoken to through."""
    ours, theirs = _SPAWN.Pipe()
    process = _SPAWN.Process(target=work, args=(theirs, preload), name="scribeline worker", daemon=True)
    process.start()
    theirs.close()
    return process, ours


def _called(callback: Callable[[Any], object], value: Any) -> None:
    """A page that went away must not keep the other listeners, or the next job, from being told."""
    try:
        callback(value)
    except Exception as error:
        asyncio.get_running_loop().call_exception_handler(
            {"message": "a listener of a job failed", "exception": error, "job": repr(callback)}
        )


def _failed(job: Job, kind: str, sentence: str) -> str:
    if kind == "MemoryError":
        return (
            f"{job.what} needs more memory than it may have.\n    kept: everything you entered\n"
            "    what to do: try something smaller"
        )
    if kind.endswith("Error") and "what to do:" in sentence:
        return sentence
    return (
        f"{job.what} failed through a fault in scribeline ({kind}: {sentence}).\n    kept: everything you entered\n"
        "    what to do: please report it with these words; the window in which scribeline runs says more"
    )


def _died(job: Job, exit_code: int | None) -> str:
    cause = "its process ended"
    remedy = "start it again; if it ends so again, ask for less at once"
    if exit_code is not None and exit_code < 0:
        if hasattr(signal, "SIGXCPU") and -exit_code == signal.SIGXCPU:
            cause, remedy = "it took more processor time than it may", "try something smaller"
        elif -exit_code == signal.SIGTERM or (hasattr(signal, "SIGKILL") and -exit_code == signal.SIGKILL):
            cause = "its process was ended from outside, as the computer does when memory runs out"
        else:
            cause = f"its process broke ({signal.Signals(-exit_code).name})"
    return (
        f"{job.what} ended without an answer: {cause}.\n"
        f"    kept: everything you entered, and what it had finished where that is shown\n    what to do: {remedy}"
    )
