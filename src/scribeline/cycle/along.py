"""One engine along its speeds: each starts from the gas of the one before. A curve, and what a batch has many of."""

from collections.abc import Callable, Collection, Generator, Sequence

import numpy as np

from scribeline.cycle.engine import LONGEST_CELL_M, Engine
from scribeline.cycle.lanes import Task, turn_curves
from scribeline.cycle.simulate import CycleResult, Running, Settings, settle
from scribeline.errors import CycleError, ScribelineError

Found = CycleResult | ScribelineError
Keep = Callable[[int, Running | None, Found], None]


def along(
    engine: Callable[[float], Engine],
    speeds_rpm: Sequence[float],
    settings: Settings,
    keep: Keep,
    before: Running | None = None,
    leave_out: Collection[float] = (),
) -> Task:
    """Turn an engine, given as a function of speed, at each speed until it repeats.

    keep : called with the number of the speed, the engine as it stands then (None where it did not get so far) and its
    result or why there is none. before : an engine from whose gas the first speed starts.
    With longer cells to begin with only those pass their gas on, so the fine ones are tasks of their own.
    leave_out : speeds [rev/min] that then need not be turned with fine cells
    """
    flushes = settings.flush > 1.0 and settings.flush * settings.cell_m <= LONGEST_CELL_M
    for i, speed in enumerate(speeds_rpm):
        try:
            here = Running(engine(speed), speed, settings, like=before)
            if flushes:
                yield from here.flush(before)
                if speed not in leave_out:
                    yield settled(here, keep, i)
            else:
                keep(i, here, (yield from settle(here, before)))
            before = here
        except CycleError as error:
            keep(i, None, error)
        except ScribelineError as error:  # no engine at all
            for other in range(len(speeds_rpm)):
                keep(other, None, error)
            return


def settled(running: Running, keep: Keep, i: int) -> Generator[Running, None, None]:
    """The task of an engine that has the gas of another or of longer cells already."""
    found: Found
    try:
        found = yield from settle(running, flushed=True)
    except ScribelineError as error:
        found = error
    keep(i, running, found)


def power_curve(
    engine: Engine,
    speeds_rpm: Sequence[float],
    settings: Settings | None = None,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> list[CycleResult]:
    """Simulate an engine at several speeds, each started from the gas of its neighbour.

    The speeds are dealt out to the threads in runs of neighbours, so the result does not depend on timing.
    progress : called with points done and points in all; returning True stops the curve and raises CycleError.
    Raises CycleError for the first speed that cannot be simulated.
    """
    s = settings or Settings()
    count = len(speeds_rpm)
    found: list[Found] = [CycleError("not simulated")] * count
    done, stop = 0, False

    def stretch(numbers: list[int]) -> Task:
        def keep(i: int, _running: Running | None, one: Found) -> None:
            nonlocal done, stop
            found[numbers[i]] = one
            done += 1
            stop = bool(progress and progress(done, count)) or stop

        return along(lambda _: engine, [speeds_rpm[i] for i in numbers], s, keep)

    parts = (part.tolist() for part in np.array_split(np.arange(count), threads) if part.size)
    turn_curves([stretch(part) for part in parts], lambda: stop)
    if done < count:
        raise CycleError(f"stopped after {done} of {count} speeds, as asked")
    results: list[CycleResult] = []
    for one in found:
        if isinstance(one, ScribelineError):
            raise one
        results.append(one)
    return results
