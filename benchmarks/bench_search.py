"""Does the setting for searches (FOR_SEARCHES) rank variants as the default does? python benchmarks/bench_search.py

Fifteen variants of the invented piston-port engine (five exhaust durations, three pipe lengths) at eight speeds with
both settings. A variant is judged by its mean pressure averaged over the speeds. Prints points per second of CPU time
on one core and of the wall's on two, which means something on an idle machine only, and how far the two rankings agree.
Takes about 20 seconds.
"""

import sys
import time
from pathlib import Path

import numpy as np
from scipy.stats import kendalltau, spearmanr

from scribeline.cycle.batches import batch
from scribeline.cycle.simulate import FOR_SEARCHES, CycleResult, Settings
from scribeline.kernels.gas import FloatArray

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.cycle.invented import engine

SPEEDS_RPM = np.linspace(6500.0, 10000.0, 8).tolist()
VARIANTS = [(deg, pipe) for deg in (170.0, 174.0, 178.0, 182.0, 186.0) for pipe in (0.92, 1.0, 1.08)]


def merits(name: str, settings: Settings) -> FloatArray:
    """Mean pressure over the speeds for each variant [Pa]; NaN where a point came to no end."""
    engines = [engine(exhaust_deg=deg, pipe_factor=pipe) for deg, pipe in VARIANTS]
    start = time.process_time()
    rows = batch(engines, SPEEDS_RPM, settings, threads=1)
    seconds = time.process_time() - start
    wall = time.perf_counter()
    batch(engines * 4, SPEEDS_RPM, settings, threads=2)
    wall = time.perf_counter() - wall
    points = [point for row in rows for point in row if isinstance(point, CycleResult)]
    turns, longer = (sum(getattr(p, n) for p in points) / len(points) for n in ("cycles", "flushed"))
    print(
        f"{name}: {len(points)} of {len(VARIANTS) * len(SPEEDS_RPM)} points finished, "
        f"{len(points) / seconds:.0f} points/s on one core, {4 * len(points) / wall:.0f} on two (60 variants, wall), "
        f"{turns:.1f} revolutions a point "
        f"after {longer:.1f} with longer cells"
    )
    return np.array([np.mean([p.imep_pa if isinstance(p, CycleResult) else np.nan for p in row]) for row in rows])


def main() -> None:
    """Print both runs and the agreement of their rankings."""
    batch([engine()], SPEEDS_RPM[:1])  # compile
    fine, coarse = merits("default", Settings()), merits("for searches", FOR_SEARCHES)
    both = np.isfinite(fine) & np.isfinite(coarse)
    ratio = coarse[both] / fine[both]
    print(f"{both.sum()} variants compared: rank correlation {spearmanr(fine[both], coarse[both]).statistic:.3f} "
          f"(Spearman), {kendalltau(fine[both], coarse[both]).statistic:.3f} (Kendall)")  # fmt: skip
    print(f"for searches over default: {ratio.min():.4f} to {ratio.max():.4f}; spread of the variants "
          f"{np.ptp(fine[both]) / fine[both].mean():.3f}")  # fmt: skip
    chosen = int(np.nanargmax(coarse))
    rank = int((fine[both] > fine[chosen]).sum()) + 1
    print(f"best for searches: exhaust deg, pipe factor {VARIANTS[chosen]}, number {rank} by default")


if __name__ == "__main__":
    main()
