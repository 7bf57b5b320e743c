"""Power curves of many engines at once, several side by side in each thread."""

from collections.abc import Callable, Generator, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import cast

from scribeline.cycle.engine import LONGEST_CELL_M, Engine
from scribeline.cycle.lanes import Job, Jobs, Task, work_off
from scribeline.cycle.simulate import CycleResult, Running, Settings, settle
from scribeline.errors import CycleError, ScribelineError

Row = list[CycleResult | ScribelineError]


def batch(
    engines: Sequence[Engine],
    speeds_rpm: Sequence[float],
    settings: Settings | None = None,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> list[list[CycleResult | CycleError]]:
    """Power curves of many engines; a point that fails is returned as its error.

    Returns a list per engine with one entry per speed. progress as in `simulate.power_curve`, counted in engines.
    """
    rows: list[list[CycleResult | CycleError]] = []
    for row in curves((partial(_always, engine) for engine in engines), speeds_rpm, settings, threads):
        rows.append(cast(list[CycleResult | CycleError], row))
        if progress is not None and progress(len(rows), len(engines)):
            raise CycleError(f"stopped after {len(rows)} of {len(engines)} engines, as asked")
    return rows


def curves(
    engines: Iterable[Callable[[float], Engine]],
    speeds_rpm: Sequence[float],
    settings: Settings | None = None,
    threads: int = 2,
) -> Generator[Row, None, None]:
    """As `batch` for engines that may differ from speed to speed, each given as a function of it.

    Work begins with the first engine that `engines` brings. Each row comes once all were brought and it and those
    before it are done; it does not depend on its neighbours or on the number of threads. Left early, or interrupted,
    nothing further is begun.
    """
    s = settings or Settings()
    jobs, brought, stop = Jobs(), list[Job](), False

    def work() -> None:
        try:
            for _ in work_off(jobs):
                if stop:
                    return
        except BaseException as error:
            for job in brought:
                if not job.future.done():
                    job.future.set_exception(error)
            raise

    with ThreadPoolExecutor(threads) as pool:
        try:
            for engine in engines:
                brought.append(Job(_curve(engine, speeds_rpm, s)))
                jobs.queue.put(brought[-1])
                if len(brought) <= threads:
                    pool.submit(work)
            jobs.complete = True
            for job in brought:
                yield job.future.result()
        finally:
            stop = True


def _always(engine: Engine, _speed_rpm: float) -> Engine:
    return engine


def _curve(engine: Callable[[float], Engine], speeds_rpm: Sequence[float], settings: Settings) -> Task:
    """One engine over its speeds, each started from the gas of the one before.

    With longer cells to begin with only those pass their gas on, so the fine ones are tasks of their own.
    """
    row: Row = [CycleError("not simulated")] * len(speeds_rpm)
    flushes = settings.flush > 1.0 and settings.flush * settings.cell_m <= LONGEST_CELL_M
    before: Running | None = None
    for i, speed in enumerate(speeds_rpm):
        try:
            here = Running(engine(speed), speed, settings, like=before)
            if flushes:
                yield from here.flush(before)
                yield _settled(here, row, i)
            else:
                row[i] = yield from settle(here, before)
            before = here
        except CycleError as error:
            row[i] = error
        except ScribelineError as error:  # no engine at all
            return [error] * len(speeds_rpm)
    return row


def _settled(running: Running, row: Row, i: int) -> Generator[Running, None, None]:
    try:
        row[i] = yield from settle(running, flushed=True)
    except ScribelineError as error:
        row[i] = error
