"""Power curves of many engines at once, several side by side in each thread."""

from collections.abc import Callable, Collection, Generator, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import cast

from scribeline.cycle.along import Found, along, settled
from scribeline.cycle.engine import Engine
from scribeline.cycle.lanes import Job, Jobs, Task, work_off, work_off_alone
from scribeline.cycle.simulate import CycleResult, Running, Settings
from scribeline.errors import CycleError, ScribelineError

Row = list[Found]
Reached = Callable[[int, Found], object]
"""Called with the place of a speed and how it ended."""


def batch(
    engines: Sequence[Engine],
    speeds_rpm: Sequence[float],
    settings: Settings | None = None,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> list[list[CycleResult | CycleError]]:
    """Power curves of many engines; a point that fails is returned as its error.

    settings : those of a curve where left out
    Returns a list per engine with one entry per speed. progress as in `power_curve`, counted in engines.
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
    *,
    side_by_side: bool = True,
    held: list[Running | None] | None = None,
    begun: Sequence[Running | None] | None = None,
    reached: Callable[[int, int, Found], object] | None = None,
    leave_out: Collection[float] = (),
) -> Generator[Row, None, None]:
    """As `batch` for engines that may differ from speed to speed, each given as a function of it.

    side_by_side : eight engines in a time loop, which pays from about four a thread on; otherwise one after the other,
    alike to rounding
    held : filled with the only engine as it stands at each speed then, None where it came to no end
    begun : what another, like engine was held as; every speed then starts from that one's gas, all at once, and not
    from the slower neighbour's
    reached : called in a working thread with the place of an engine and of a speed, and how that ended, as soon as it
    has; what it raises ends all of it. leave_out : speeds [rev/min] that need not come to an end, as they are known:
    where cells are longer to begin with, those still pass their gas on, so that the others end as they would have

    Work begins with the first engine that `engines` brings. Each row comes once all were brought and it and those
    before it are done; it does not depend on its neighbours or on the number of threads. Left early, or interrupted,
    nothing further is begun.
    """
    s = settings or Settings()
    jobs, brought, stop = Jobs(), list[Job](), False

    def work() -> None:
        try:
            for _ in work_off(jobs) if side_by_side else work_off_alone(jobs):
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
                here = partial(reached, len(brought)) if reached is not None else None
                if begun is None:
                    task = _curve(engine, speeds_rpm, s, held, here, leave_out)
                else:
                    task = at_once(engine, speeds_rpm, s, begun, here)
                brought.append(Job(task))
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


def at_once(
    engine: Callable[[float], Engine],
    speeds_rpm: Sequence[float],
    settings: Settings,
    begun: Sequence[Running | None],
    reached: Reached | None = None,
) -> Task:
    """One engine over its speeds, each a task of its own that starts from the gas of the one begun."""
    row: Row = [CycleError("not simulated")] * len(speeds_rpm)
    before: Running | None = None

    def keep(i: int, _running: Running | None, found: Found) -> None:
        row[i] = found
        if reached is not None:
            reached(i, found)

    for i, (speed, like) in enumerate(zip(speeds_rpm, begun, strict=True)):
        try:
            here = Running(engine(speed), speed, settings, like=before)
        except CycleError as error:
            keep(i, None, error)
            continue
        except ScribelineError as error:  # no engine at all
            return [error] * len(speeds_rpm)
        if like is not None:
            here.start_like(like)
        yield settled(here, keep, i)
        before = here
    return row


def _curve(
    engine: Callable[[float], Engine],
    speeds_rpm: Sequence[float],
    settings: Settings,
    held: list[Running | None] | None = None,
    reached: Reached | None = None,
    leave_out: Collection[float] = (),
) -> Task:
    """One engine over its speeds, see `along`. held : filled with the engine at each speed"""
    row: Row = [CycleError("not simulated")] * len(speeds_rpm)
    if held is not None:
        held[:] = [None] * len(speeds_rpm)

    def keep(i: int, running: Running | None, found: Found) -> None:
        row[i] = found
        if held is not None:
            held[i] = running
        if reached is not None and isinstance(found, CycleResult | CycleError):  # not for want of an engine
            reached(i, found)

    yield from along(engine, speeds_rpm, settings, keep, leave_out=leave_out)
    return row
