"""Whole power curves against the true limit cycle: python benchmarks/bench_limit_cycle.py [port|reed|long|NUMBER ...]

For each invented engine, or engine drawn by chance (fresh_engines), a 20-point curve with default settings, and for
each speed the mean of the last of 200 more revolutions from where it ended: 24 where these are alike, all where the
engine runs unevenly. For port, reed and long also of a run from cold, which may have found another state. Prints
revolutions used and errors in mean pressure for each point, and CPU time for each curve (one
thread; of the first curve it has compiling in it). Takes half a minute an engine.
"""

import sys
import time
from pathlib import Path

import numpy as np

from scribeline.cycle.along import Found, along
from scribeline.cycle.engine import Engine
from scribeline.cycle.lanes import turn_curves
from scribeline.cycle.simulate import CycleResult, Running, Settings
from scribeline.errors import ScribelineError
from scribeline.kernels.gas import FloatArray

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]
from fresh_engines import fresh  # noqa: E402

from tests.cycle.invented import engine  # noqa: E402

ENGINES = {
    "port": engine(),
    "reed": engine(reed=True),
    "long": engine(pipe_factor=1.1),
}
SPEEDS_RPM = np.linspace(5000.0, 11500.0, 20).tolist()
REVOLUTIONS, AVERAGED = 200, 24
UNEVEN = 0.003  # spread of the work over its mean
PROMISED = 0.005


def turned_on(running: Running) -> tuple[float, float]:
    """Mean work of the end of many more revolutions [J], and its relative spread."""
    work: list[float] = []
    for _ in range(REVOLUTIONS):
        running.turn()
        work.append(float(running.monitored()[0]))
    late = np.array(work[-AVERAGED:])
    spread = float(np.ptp(late) / late.mean())
    return float(late.mean() if spread < UNEVEN else np.mean(work)), spread


def curve(some: Engine, speeds_rpm: list[float]) -> list[tuple[Running | None, Found]]:
    """A curve as a thread of `power_curve` turns its half, one half after the other."""
    found: list[tuple[Running | None, Found]] = []
    for part in np.array_split(speeds_rpm, 2):
        got: dict[int, tuple[Running | None, Found]] = {}

        def keep(
            i: int, running: Running | None, one: Found, got: dict[int, tuple[Running | None, Found]] = got
        ) -> None:
            got[i] = running, one

        turn_curves([along(lambda _: some, part.tolist(), Settings(), keep)], lambda: False)
        found += [got[i] for i in sorted(got)]
    return found


def main() -> None:
    """Print the comparison for the engines named, the three invented ones by default."""
    even: list[float] = []
    uneven: list[float] = []
    none = 0
    for name in sys.argv[1:] or list(ENGINES):
        some, speeds, what = (ENGINES[name], SPEEDS_RPM, name) if name in ENGINES else fresh(int(name))
        start = time.process_time()
        points = curve(some, speeds)
        seconds = time.process_time() - start
        turns, errors = np.zeros(2, int), []
        for (running, point), speed in zip(points, speeds, strict=True):
            if running is None or isinstance(point, ScribelineError):
                print(f"{what}, {speed:.0f} rpm: {point}")
                none += 1
                continue
            work, spread = turned_on(running)
            error = abs(_work(point) / work - 1.0)
            (even if spread < UNEVEN else uneven).append(error)
            errors.append(error)
            turns += point.cycles, point.flushed
            cold = ""
            if name in ENGINES:
                true, _ = turned_on(Running(some, speed, Settings()))
                cold = f", {100 * abs(_work(point) / true - 1.0):.2f} % off a run from cold"
            print(
                f"{what}, {speed:.0f} rpm: {point.cycles} revolutions and {point.flushed} of longer cells, mean of "
                f"{point.averaged}, {100 * error:.2f} % off where it then was (spread {100 * spread:.1f} %){cold}"
            )
        print(f"{what}: {seconds:.2f} s CPU, {turns[0]} revolutions, {turns[1]} with longer cells, worst "
              f"{100 * max(errors, default=0.0):.2f} %", flush=True)  # fmt: skip
    for which, errors in (("repeats itself", even), ("runs unevenly", uneven)):
        if errors:
            over = sum(error > PROMISED for error in errors)
            print(f"{len(errors)} points where the engine {which}: {over} over {100 * PROMISED:g} %, worst "
                  f"{100 * max(errors):.2f} %, {100 * float(np.median(errors)):.2f} % in the middle")  # fmt: skip
    print(f"{none} points came to no end")


def _work(point: CycleResult) -> float:
    history: FloatArray = point.history[-point.averaged :, 0]
    return float(history.mean())


if __name__ == "__main__":
    main()
