"""Speed of the duct kernels and of the whole engine, compiled code only: python benchmarks/bench_duct.py

Prints CPU time, which other work on the machine disturbs less than the clock on the wall, as the best of several tries.
"""

import sys
import time
from pathlib import Path

import numpy as np
from numba import njit

from scribeline.cycle import turning as tn
from scribeline.cycle.along import power_curve
from scribeline.cycle.lanes import Lanes
from scribeline.cycle.layout import FREE, Duct, End, Network, lay_out
from scribeline.cycle.simulate import Running, Settings
from scribeline.kernels.duct import advance, decode, exchange, fastest, find_slopes, predict
from scribeline.kernels.gas import FloatArray, perfect_gas
from scribeline.models.gas_properties import gas_law

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.cycle.invented import engine


@njit(error_model="numpy")
def repeat(
    q: FloatArray, w: FloatArray, geo: FloatArray, gas: FloatArray, slope: FloatArray, mid: FloatArray,
    flux: FloatArray, dt: FloatArray, steps: int, s: int,
) -> float:  # fmt: skip
    """All passes over the cells, ends left alone; dt must be small enough for the stretch to stay physical."""
    top = 0.0
    for _ in range(steps):
        decode(q, w, gas)
        for b in range(s):
            top += fastest(w, geo, b, s)
        find_slopes(q, w, slope, s)
        predict(q, w, geo, dt, slope, mid)
        exchange(w, slope, mid, flux, s)
        advance(q, w, geo, dt, mid, flux, s)
    return top


def best(action, tries: int = 7) -> float:
    """Least CPU time of several tries [s]."""
    times = []
    for _ in range(tries):
        start = time.process_time()
        action()
        times.append(time.process_time() - start)
    return min(times)


def sod(cells: int) -> Network:
    net = lay_out(perfect_gas(1.4, 1.0), [Duct(1.0, np.ones(cells + 1), End(FREE), End(FREE))], [], 1.0, 1.0)
    left = np.arange(cells) < cells // 2
    net.set_duct(0, np.where(left, 1.0, 0.125), np.zeros(cells), np.where(left, 1.0, 0.1), 0.0)
    return net


def passes(cells: int, s: int, sources: bool) -> float:
    """Nanoseconds per cell and step of the passes alone, s engines interleaved."""
    gas = gas_law(1.1)
    duct = Duct(1.0, np.linspace(1e-3, 2e-3, cells + 1), End(FREE), End(FREE))
    net = lay_out(gas, [duct], [], 1e5, 600.0)
    n = net.q.shape[1] * s
    q, w, geo = (np.repeat(x, s, axis=1).copy() for x in (net.q, net.w, net.geo))
    q[0] *= 1 + 0.01 * np.sin(np.arange(n))
    q[3] = 0.5 * q[0]
    if sources:
        geo[4], geo[5], geo[6] = 0.4, 0.4, 500.0
    slope, mid, flux, dt = np.zeros((4, n)), np.ones((4, n)), np.zeros((4, n)), np.full(n, 1e-12)
    args = (q, w, geo, gas, slope, mid, flux, dt)
    repeat(*args, 1, s)
    steps = 400_000 // (cells * s) * 10
    return best(lambda: repeat(*args, steps, s)) / steps / (cells * s) * 1e9


def side_by_side(cell_m: float, many: bool) -> float:
    """Microseconds per step of eight engines that differ, in one time loop or one after the other."""
    settings = Settings(cell_m=cell_m)
    engines = [
        Running(engine(exhaust_deg=170.0 + 2 * i, pipe_factor=1 + 0.02 * i, reed=True), 8000.0 + 200 * i, settings)
        for i in range(8)
    ]
    lanes = Lanes(engines[0])

    def turn(revolutions: int) -> float:
        steps = 0.0
        if not many:
            for one in engines:
                for _ in range(revolutions):
                    one.turn()
                    steps += one.totals[tn.STEPS]
            return steps
        if not lanes.engines:
            lanes.waiting.extend((iter(()), one) for one in engines)
        for _ in range(8 * revolutions):
            for task, one, _ in lanes.turn():
                steps += one.totals[tn.STEPS]
                lanes.waiting.append((task, one))
        return steps

    turn(5)
    best_of = []
    for _ in range(5):
        start = time.process_time()
        steps = turn(8)
        best_of.append((time.process_time() - start) / steps * 1e6)
    return min(best_of)


def main() -> None:
    """Print every figure."""
    sod(50).march(0.01)
    for cells in (100, 200, 400, 1600):
        steps = sod(cells).march(0.2)
        rounds = max(40_000 // cells, 5)

        # set-up in Python is not counted: march a fresh copy each round
        total = 0.0
        for _ in range(rounds):
            net = sod(cells)
            start = time.process_time()
            net.march(0.2)
            total += time.process_time() - start
        print(f"Sod, {cells:5d} cells: {total / rounds / steps / cells * 1e9:6.1f} ns per cell and step, "
              f"{cells * steps * rounds / total:.3g} cell-updates/s")  # fmt: skip
    for s in (1, 4, 16):
        print(f"passes, 144 cells, {s:2d} interleaved, real gas, all sources: {passes(144, s, True):5.1f} ns")
    running = Running(engine(reed=True), 9000.0, Settings())
    for _ in range(5):
        running.turn()
    seconds = best(running.turn)
    net, steps = running.tables.network, running.totals[tn.STEPS]
    print(
        f"whole engine, {net.q.shape[1]} cells: {seconds * 1e3:.2f} ms per revolution, "
        f"{seconds / steps * 1e6:.2f} us per step, {seconds / steps / net.q.shape[1] * 1e9:.1f} ns per cell and step"
    )
    for cell_m in (0.010, 0.020):
        alone, abreast = (side_by_side(cell_m, many) for many in (False, True))
        print(f"eight reed engines, {1e3 * cell_m:.0f} mm cells: {alone:.2f} us per step one after the other, "
              f"{abreast:.2f} us side by side")  # fmt: skip
    speeds = np.linspace(5000.0, 11500.0, 20)
    power_curve(engine(), speeds)
    cpu, wall = time.process_time(), time.perf_counter()
    curve = power_curve(engine(), speeds)
    cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
    turns = sum(r.cycles for r in curve)
    print(f"20-point curve: {cpu:.2f} s CPU, {wall:.2f} s on the wall with 2 threads, {turns} revolutions")
    held = sum(x.nbytes for x in (net.q, net.w, net.geo, net.volumes, running.trace, running.tables.ports))
    held += 12 * net.q.shape[1] * 8 + net.q.shape[1] * 8
    print(f"memory of one running point: {held / 1e3:.0f} kB")


if __name__ == "__main__":
    main()
