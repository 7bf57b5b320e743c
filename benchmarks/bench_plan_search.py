"""How fast plans are found, and what the setting for searches is worth: python benchmarks/bench_plan_search.py

Prints engines per second of the search over nine speeds on the demonstration kart, geometry and limits included; the
time of 2,000 of them as it follows from these, or measured with `--whole`; who-limits-what with four groups; the gasket
solver; and how the order of random designs at the setting for searches agrees with the fine one. With `--share` only
the last. Wall times mean something on an idle machine only; processor time is given beside them.
"""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from scipy.stats import spearmanr

from scribeline.cycle.simulate import Settings
from scribeline.engine import read_record_file
from scribeline.geometry.work_out import work_out
from scribeline.plan.box import read_box_file
from scribeline.plan.merits import FINE, SEARCH, Swept, merits_of, sweep
from scribeline.plan.search import Amount, Design
from scribeline.plan.search_goals import goal_of, speeds_for
from scribeline.plan.search_plans import find_plans
from scribeline.plan.search_space import Space, space_for
from scribeline.plan.stacks import solve
from scribeline.plan.steps import Step
from scribeline.tasks.search import who_limits_of

EXAMPLES = Path(__file__).parents[1] / "examples"
RECORD = read_record_file(EXAMPLES / "club-kart-98.toml")
BOX = read_box_file(EXAMPLES / "gasket-box.toml")
GOAL = goal_of("8000:10500")
FOUR = (
    Step("deck barrel top", amount=0.5), Step("raise exhaust roof", "exhaust", 1.5),
    Step("lower intake floor", "intake", 2.0), Step("change pipe length", "header", -20.0),
)  # fmt: skip


def used() -> float:
    """Processor time of this process and of its children that have ended, s."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


@contextmanager
def timed(words: str, count: int = 1) -> Iterator[None]:
    """Print wall and processor time of a block, for each of `count`."""
    wall, cpu = time.perf_counter(), time.process_time()
    yield
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    each = f"; each {1e3 * cpu / count:.1f} ms of processor" if count > 1 else ""
    print(f"{words}: {wall:.2f} s, processor {cpu:.2f} s{each}", flush=True)


def random_designs(space: Space, count: int) -> list[Design]:
    """Designs that limits allow, drawn as the first of a search are."""
    rng = np.random.default_rng(1)
    found: list[Design] = []
    while len(found) < count:
        design: dict[str, float | str] = {}
        for one in space.variables:
            raw = float(rng.uniform(*one.raw_bounds)) if isinstance(one, Amount) else 0.0
            design[one.name] = one.of(raw) if isinstance(one, Amount) else str(rng.choice(one.options))
        if not space.passed(design):
            found.append(design)
    return found


def agreement(space: Space, count: int = 40) -> None:
    """How the order of designs at quicker settings agrees with that at the fine one."""
    over = speeds_for(GOAL, RECORD)
    records = [space.built(design) for design in random_designs(space, count)]

    def numbers(settings: Settings, words: str) -> tuple[list[Swept], float]:
        start = time.process_time()
        curves = [sweep(record, over.points, settings) for record in records]
        return curves, (time.process_time() - start) / count

    fine, each = numbers(FINE, "fine")
    print(f"{count} random designs; fine setting {1e3 * each:.0f} ms of processor each")
    for words, settings in (
        ("20 mm, 0.5 %", Settings(cell_m=0.020, flush=1.0)),
        ("20 mm, 1 %", Settings(cell_m=0.020, tolerance=0.01, flush=1.0)),
        ("setting for searches", SEARCH),
        ("30 mm, 2 %", Settings(cell_m=0.030, tolerance=0.02, flush=1.0)),
    ):  # fmt: skip
        curves, each = numbers(settings, words)
        line = f"{words}: {1e3 * each:.0f} ms each"
        for key in ("band_kw", "peak_kw", "low_nm"):
            a = np.array([merits_of(curve, over)[key] for curve in curves])
            b = np.array([merits_of(curve, over)[key] for curve in fine])
            sound = np.isfinite(a) & np.isfinite(b)
            line += f"; {key} rank {spearmanr(a[sound], b[sound]).statistic:.3f}"
            line += f", ratio spread {100 * np.std(a[sound] / b[sound]):.2f} %"
        print(line, flush=True)


def main() -> None:
    """Print every figure."""
    space = space_for(RECORD, BOX)
    over = speeds_for(GOAL, RECORD)
    sweep(RECORD, over.points[:2], SEARCH)  # compile
    sweep(RECORD, over.points[:2], FINE)
    if "--share" not in sys.argv:
        with timed("gasket solver, demonstration box"):
            solve(work_out(RECORD), BOX)
        designs = random_designs(space, 40)
        space = space_for(RECORD, BOX)
        with timed("geometry and limits of a design", 40):
            for design in designs:
                space.passed(design)
        with timed("an engine over nine speeds, built and simulated", 40):
            for design in designs:
                sweep(space.built(design), over.points, SEARCH)
        for draws in (0, 4):
            with timed(f"who limits what, 4 groups, {draws} drawn engines more"):
                who_limits_of(RECORD, FOUR, BOX, GOAL, draws=draws)
        count = 2000 if "--whole" in sys.argv else 200
        start, cpu = time.perf_counter(), used()
        seen: list[float] = []

        def note(what: str, done: int, of: int, best: str) -> None:
            if what == "searching" and done == of and not seen:
                seen.append(time.perf_counter() - start)

        found = find_plans(space, GOAL, evaluations=count, progress=note)
        wall = seen[0]
        print(f"search: {found.evaluated} engines in {wall:.1f} s; "
              f"{2000 / found.evaluated * wall:.0f} s for 2,000; {found.refused} refused before that")  # fmt: skip
        print(f"finalists confirmed, made by hand and pruned: {time.perf_counter() - start - wall:.1f} s; "
              f"all of it, worker processes included: processor {used() - cpu:.1f} s")  # fmt: skip
        print(f"best: {found.best.gain if found.best else 0.0:+.2f} kW of {found.before['band_kw']:.2f}")
    agreement(space)


if __name__ == "__main__":
    main()
