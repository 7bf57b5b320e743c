"""The time loop on a graphics processor, from the same source: python benchmarks/on_a_gpu.py [--simulations 8192]

One thread turns one engine. Nothing is written a second time: the kernel calls `cycle.turning.turn`
as it is. Thousands of simulations (fifteen variants of the invented piston-port engine at twenty speeds, repeated) turn
from cold a number of revolutions in double precision; the tables lie [row, cell, simulation], so that neighbouring
threads read neighbouring numbers. Prints points per second with the number of revolutions they mean, and compares a few
of them with the same revolutions on the processor: work, trapped mass and case mass to a relative 1e-6.

Needs numba, numba-cuda (or a numba that still brings numba.cuda), numpy, scipy and a CUDA driver; the package on
PYTHONPATH. On a machine without one, NUMBA_ENABLE_CUDASIM=1 NUMBA_DISABLE_JIT=1 runs a tiny case slowly:
--simulations 2 --revolutions 1 --cell-mm 40.
"""

import argparse
import os
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

from numba import cuda

from scribeline.cycle import turning as tn
from scribeline.cycle.simulate import Running, Settings
from scribeline.kernels.network import FINE
from tests.cycle.invented import engine

SPEEDS_RPM = np.linspace(5000.0, 11500.0, 20)
VARIANTS = [(deg, pipe) for deg in (170.0, 174.0, 178.0, 182.0, 186.0) for pipe in (0.92, 1.0, 1.08)]
BINS = 16  # of the trace, which nobody looks at here
TOLERANCE = 1e-6
turn = tn.turn


@cuda.jit
def revolve(
    revolutions, most_steps, volumes, status, q, w, geo, gas, ends, steps, ratios, port_of_end, ways, end_data, ports,
    numbers, states, inflow, flows, trace, pipe, of_cells, of_ends, unsolved,
):  # fmt: skip
    """Turn simulation i, the number of this thread; every table has the simulations as its last axis.

    states and inflow are the same memory as numbers.
    """
    i = cuda.grid(1)
    if i < status.size:
        code = 0
        for _ in range(revolutions):
            code = turn(
                q[:, :, i], w[:, :, i], geo[:, :, i], gas[:, i], ends[:, :, i], steps[:, :, i], ratios[:, :, i],
                port_of_end[:, i], ways[:, :, i], end_data[:, :, i], ports[:, :, i], numbers[:, i], states[:, :, i],
                inflow[:, :, i], flows[:, :, i], trace[:, :, i], pipe[:, i], of_cells[:, :, i], of_ends[:, :, i],
                unsolved[:, i], volumes, most_steps,
            )  # fmt: skip
            if code != 0:
                break
        status[i] = code


NUMBERS = 11
"""Place of an engine's numbers in the tables."""


def tables_of(running: Running) -> list[np.ndarray]:
    """The arrays of one simulation, in the order of `turn` but for the two that are parts of the numbers."""
    t, n = running.tables, running.tables.network
    return [
        n.q, n.w, n.geo, n.gas, n.ends, n.steps, n.ratios, t.port_of_end, t.ways, t.end_data, t.ports, t.numbers,
        running.flows, running.trace, t.pipe, *running.room,
    ]  # fmt: skip


def padded(table: np.ndarray, columns: int) -> np.ndarray:
    """Repeat the last idle cell until there are as many cells as the longest engine has."""
    return np.concatenate([table, np.repeat(table[:, -1:], columns - table.shape[1], axis=1)], axis=1)


def prepared(cell_m: float, count: int) -> tuple[list[Running], list[np.ndarray]]:
    """`count` different engines and speeds, and their tables with the simulations as the last axis."""
    some: list[Running] = []
    for number in range(count):
        deg, pipe = VARIANTS[number % len(VARIANTS)]
        speed = float(SPEEDS_RPM[number // len(VARIANTS) % len(SPEEDS_RPM)])
        one = Running(engine(exhaust_deg=deg, pipe_factor=pipe), speed, Settings(cell_m=cell_m))
        one.trace = np.zeros((tn.TRACES, BINS))
        some.append(one)
    widest = max(one.tables.network.q.shape[1] for one in some)
    for one in some:
        net = one.tables.network
        net.q, net.w, net.geo = (padded(x, widest) for x in (net.q, net.w, net.geo))
        one.room = (padded(one.room[0], widest), *one.room[1:])
    return some, [np.stack(column, axis=-1) for column in zip(*map(tables_of, some), strict=True)]


def main() -> None:
    """Run, time, compare, print; exits with 1 where the two processors disagree."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--simulations", type=int, default=8192)
    parser.add_argument("--revolutions", type=int, default=20)
    parser.add_argument("--cell-mm", type=float, default=10.0)
    parser.add_argument("--threads-per-block", type=int, default=64)
    parser.add_argument("--most-steps", type=int, default=200_000)
    asked = parser.parse_args()
    different = min(asked.simulations, len(VARIANTS) * len(SPEEDS_RPM))
    some, tables = prepared(1e-3 * asked.cell_mm, different)
    times = -(-asked.simulations // different)
    many = [np.tile(table, (1,) * (table.ndim - 1) + (times,))[..., : asked.simulations].copy() for table in tables]
    print(f"{asked.simulations} simulations, {sum(x.nbytes for x in many) / 1e6:.0f} MB, "
          f"{asked.revolutions} revolutions of {asked.cell_mm:g} mm cells each")  # fmt: skip
    blocks = -(-asked.simulations // asked.threads_per_block)
    for label, revolutions in (("first call, compilation included", 0), ("run", asked.revolutions)):
        on_device = [cuda.to_device(x) for x in many]
        numbers = on_device[NUMBERS]
        on_device[NUMBERS + 1 : NUMBERS + 1] = (
            numbers[tn.STATES : tn.INFLOW].reshape(6, tn.MOST_VOLUMES, asked.simulations),
            numbers[tn.INFLOW : tn.SIZES].reshape(3, tn.MOST_VOLUMES, asked.simulations),
        )
        status = cuda.to_device(np.zeros(asked.simulations, np.int64))
        cuda.synchronize()
        start = time.perf_counter()
        revolve[blocks, asked.threads_per_block](revolutions, asked.most_steps, tn.RIGID, status, *on_device)
        cuda.synchronize()
        seconds = time.perf_counter() - start
        print(f"{label}: {seconds:.2f} s")
    bad = int((status.copy_to_host() != FINE).sum())
    print(f"{asked.simulations / seconds:.0f} points/s of {asked.revolutions} revolutions, {bad} did not finish")
    totals = on_device[NUMBERS].copy_to_host()
    worst = 0.0
    for number in range(0, different, max(different // 8, 1)):
        one = some[number]
        for _ in range(asked.revolutions):
            one.turn()
        here, there = one.totals, totals[:, number]
        worst = max(worst, *(abs(there[i] / here[i] - 1.0) for i in (tn.WORK_J, tn.TRAPPED_KG, tn.CASE_KG)))
    print(f"largest relative difference to the processor: {worst:.1e} (accepted {TOLERANCE:g})")
    if os.environ.get("NUMBA_ENABLE_CUDASIM") != "1":
        print(f"device: {cuda.get_current_device().name}")
    sys.exit(1 if bad or not worst < TOLERANCE else 0)


if __name__ == "__main__":
    main()
