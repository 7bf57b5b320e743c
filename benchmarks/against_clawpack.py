"""Sod's shock tube, our duct kernels beside PyClaw's Fortran classic solver: python benchmarks/against_clawpack.py

Needs clawpack (optional; building it takes a Fortran compiler). Both solve the same problem in the same run on one core
from the same cell means to the same time, and are judged by the same norm: mean distance of the density from the exact
cell means. Both keep Courant number 0.8. Time is CPU time; reading in and setting up is not counted.
"""

import logging
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from benchmarks.bench_duct import sod
from tests.verification.exact_riemann import cell_means

SOD = ((1.0, 0.0, 1.0), (0.125, 0.0, 0.1))


def pyclaw_run(cells: int) -> tuple[np.ndarray, int, float]:
    """Density, steps and CPU seconds of PyClaw: MC limiter, second order, Roe solver."""
    from clawpack import pyclaw, riemann

    logging.disable(logging.CRITICAL)
    solver = pyclaw.ClawSolver1D(riemann.euler_with_efix_1D)
    solver.kernel_language = "Fortran"
    solver.limiters = pyclaw.limiters.tvd.MC
    solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.extrap
    solver.cfl_desired, solver.cfl_max, solver.max_steps = 0.8, 1.0, 10**6
    solver.dt_initial = 0.1 / cells
    domain = pyclaw.Domain([pyclaw.Dimension(0.0, 1.0, cells, name="x")])
    state = pyclaw.State(domain, 3)
    state.problem_data["gamma"], state.problem_data["gamma1"], state.problem_data["efix"] = 1.4, 0.4, False
    left = state.grid.x.centers < 0.5
    state.q[0], state.q[1] = np.where(left, 1.0, 0.125), 0.0
    state.q[2] = np.where(left, 1.0, 0.1) / 0.4
    solution = pyclaw.Solution(state, domain)
    solver.setup(solution)
    start = time.process_time()
    solver.evolve_to_time(solution, 0.2)
    return solution.state.q[0].copy(), solver.status["numsteps"], time.process_time() - start


def ours_run(cells: int) -> tuple[np.ndarray, int, float]:
    """Density, steps and CPU seconds of the duct kernels."""
    net = sod(cells)
    start = time.process_time()
    steps = net.march(0.2)
    took = time.process_time() - start
    return net.q[0, net.spans[0]].copy(), steps, took


def main() -> None:
    """Print error and speed of both."""
    for cells in (100, 200, 400):
        edges = np.linspace(0.0, 1.0, cells + 1)
        exact = cell_means(*SOD, 1.4, edges - 0.5, 0.2)[0]
        line = f"{cells} cells:"
        speed = {}
        for name, run in (("ours", ours_run), ("pyclaw", pyclaw_run)):
            run(cells)
            done = [run(cells) for _ in range(9)]
            rho, steps, _ = done[0]
            speed[name] = cells * steps / min(took for _, _, took in done)
            line += f"  {name} L1 {np.abs(rho - exact).mean():.5f}, {speed[name]:.3g} cell-updates/s;"
        print(line, f"ratio {speed['ours'] / speed['pyclaw']:.1f}")


if __name__ == "__main__":
    main()
