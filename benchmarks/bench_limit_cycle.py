"""Whole power curves against the true limit cycle: python benchmarks/bench_limit_cycle.py [port|reed|long ...]

For each invented engine a 20-point curve with default settings, and at each speed the mean of revolutions 177 to 200
of a run from cold. Prints, for each point, revolutions used and the error in mean pressure, and for the curve the CPU
time (best of three, one thread). Takes about a minute an engine.
"""

import sys
import time
from pathlib import Path

import numpy as np

from scribeline.cycle.along import power_curve
from scribeline.cycle.engine import Engine
from scribeline.cycle.simulate import Running, Settings
from scribeline.errors import CycleError
from scribeline.kernels.gas import FloatArray

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.cycle.invented import engine

ENGINES = {
    "port": engine(),
    "reed": engine(reed=True),
    "long": engine(pipe_factor=1.1),
}
SPEEDS_RPM = np.linspace(5000.0, 11500.0, 20)
REVOLUTIONS, AVERAGED = 200, 24


def limit_cycle(some: Engine, speed_rpm: float) -> tuple[FloatArray, float]:
    """Mean and relative spread of the monitored quantities at the end of a long run."""
    running = Running(some, speed_rpm, Settings())
    late = []
    for i in range(REVOLUTIONS):
        running.turn()
        if i >= REVOLUTIONS - AVERAGED:
            late.append(running.monitored())
    return np.mean(late, axis=0), float(np.ptp(late, axis=0)[0] / np.mean(late, axis=0)[0])


def main() -> None:
    """Print the comparison for the engines named, all by default."""
    for name in sys.argv[1:] or ENGINES:
        some = ENGINES[name]
        times = []
        for _ in range(3):
            start = time.process_time()
            try:
                curve = power_curve(some, SPEEDS_RPM.tolist(), threads=1)
            except CycleError as error:
                print(name, error)
                break
            times.append(time.process_time() - start)
        else:
            worst = 0.0
            for point in curve:
                true, spread = limit_cycle(some, point.speed_rpm)
                found = point.history[-point.averaged :].mean(axis=0)
                error_of_all = np.abs(found / true - 1.0)
                worst = max(worst, error_of_all[0])
                print(
                    f"{name} {point.speed_rpm:7.0f} rpm: {point.cycles:3d} revolutions, mean of {point.averaged:2d}, "
                    f"mean pressure {100 * error_of_all[0]:.3f} % off, all four within "
                    f"{100 * error_of_all.max():.3f} %, limit spread {100 * spread:.2f} %"
                )
            turns = sum(point.cycles for point in curve)
            print(f"{name}: {min(times):.2f} s CPU, {turns} revolutions, worst mean pressure {100 * worst:.2f} % off")


if __name__ == "__main__":
    main()
