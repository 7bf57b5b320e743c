"""What the length of the cells changes: python benchmarks/bench_fineness.py

Two invented engines of the tests around their best power, and the two demonstration engines, with cells of 20, 10,
5, 2.5 and 1.25 mm (the time step follows). Below the default the runs end at 0.2 % instead of 0.5 %. Takes minutes.
"""

import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from scribeline.cycle.engine import Engine
from scribeline.cycle.from_record import build_of
from scribeline.cycle.simulate import CycleResult, Settings, simulate
from scribeline.engine import read_record_file
from scribeline.geometry.work_out import work_out

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))
from tests.cycle.invented import engine  # noqa: E402

CELLS_MM = (20.0, 10.0, 5.0, 2.5, 1.25)


def of_example(name: str) -> Callable[[float], Engine]:
    """The engine of a demonstration record at a speed."""
    return build_of(work_out(read_record_file(ROOT / "examples" / f"{name}.toml"), draws=0)).at


ENGINES: dict[str, tuple[Callable[[float], Engine], range]] = {
    "piston port of the tests": (lambda _: engine(), range(9000, 12501, 250)),
    "reed of the tests": (lambda _: engine(reed=True), range(8500, 10501, 250)),
    "kart": (of_example("club-kart-98"), range(8500, 10501, 250)),
    "reed 125": (of_example("reed-125"), range(7500, 9501, 250)),
}


def at(build: Callable[[float], Engine], speed_rpm: float, cell_mm: float) -> CycleResult:
    """One speed from cold."""
    tolerance = 0.005 if cell_mm >= 10.0 else 0.002
    return simulate(build(speed_rpm), speed_rpm, Settings(cell_mm / 1e3, tolerance, most_cycles=300))


def main() -> None:
    """Print a line for each speed, and best power for each length."""
    with ThreadPoolExecutor(2) as pool:
        for name, (build, speeds) in ENGINES.items():
            rows = {c: list(pool.map(lambda rpm, b=build, c=c: at(b, float(rpm), c), speeds)) for c in CELLS_MM}
            for i, rpm in enumerate(speeds):
                pairs = (f"{1e-5 * rows[c][i].imep_pa:.3f}, {rows[c][i].delivery_ratio:.3f}" for c in CELLS_MM)
                print(f"{name} {rpm} rpm: " + " | ".join(pairs), flush=True)
            for c in CELLS_MM:
                best = max(rows[c], key=lambda result: result.power_w)
                print(f"{name}, {c:g} mm: {best.power_w / 1e3:.3f} kW at {best.speed_rpm:g} rpm", flush=True)


if __name__ == "__main__":
    main()
