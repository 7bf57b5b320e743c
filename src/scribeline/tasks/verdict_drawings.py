"""A comparison as drawings: runs as dots with intervals, runs as lines, power curves with bands."""

import re

import numpy as np
from scipy import special

from scribeline.errors import SheetError
from scribeline.marking.shapes import Drawing
from scribeline.marking.trial_plot import (
    Bundle,
    BundlePlot,
    DifferenceRow,
    DotPlot,
    DotRow,
    bundle_plot,
    dot_plot,
)
from scribeline.tasks.verdicts import Compared
from scribeline.trials.road_power import on_grid
from scribeline.trials.runs import Measure
from scribeline.trials.wording import sentence

MOST_DRAWN = 4
"""Setups that a drawing can tell apart without colour."""


def verdict_drawings(compared: Compared) -> list[Drawing]:
    """Every drawing that the runs allow: dots of the main measure, lines of all runs, power curves.

    Raises SheetError for more setups than can be told apart.
    """
    setups = compared.comparison.setups
    if len(setups) > MOST_DRAWN:
        raise SheetError(
            f"{len(setups)} setups in one drawing\n    accepted: at most {MOST_DRAWN}, so that they can be told apart\n"
            "    what to do: name fewer setups"
        )
    drawings = [dots(compared, main) for main in compared.comparison.mains]
    if (lines := run_lines(compared)) is not None:
        drawings.append(lines)
    if (power := power_curves(compared)) is not None:
        drawings.append(power)
    return drawings


def dots(compared: Compared, measure: Measure) -> Drawing:
    """Every run of one measure as a dot, the means with their intervals, the differences below."""
    one = compared.comparison
    verdicts = one.of(measure)
    sides = {side.setup: side for verdict in verdicts for side in (verdict.first, verdict.second)}
    rows = []
    for setup in one.setups:
        if setup not in sides:
            continue
        out = tuple(
            run.measures[measure.key].value
            for run in one.runs
            if run.setup == setup and run.dropped and measure.key in run.measures
        )
        side = sides[setup]
        rows.append(DotRow(setup, side.values, side.mean, side.half_width, out))
    differences = tuple(
        DifferenceRow(f"{v.second.setup} less {v.first.setup}", v.difference, v.low, v.high, v.shown) for v in verdicts
    )
    said = " ".join(sentence(verdict) for verdict in verdicts)
    return dot_plot(
        DotPlot(
            "verdict-" + re.sub("[^a-z0-9]+", "-", measure.key.lower()).strip("-"),
            f"{measure.key}: each run a dot, bars the 95 % interval of the mean",
            said,
            f"{measure.key}, {measure.unit}",
            f"difference with its 95 % interval, {measure.unit}",
            tuple(rows),
            differences,
        )
    )


def run_lines(compared: Compared) -> Drawing | None:
    """Every run as a line of speed against time from the start of the main gate; None where no run has one."""
    one = compared.comparison
    gates = [bounds for measure in one.measures if (bounds := _bounds(measure)) is not None]
    if not gates:
        return None
    start = _bounds(one.main) or gates[0]
    bundles = [
        Bundle(name, tuple(_traced(compared, name, start[0]) or _from_gates(compared, name))) for name in one.setups
    ]
    if not any(bundle.lines for bundle in bundles):
        return None
    return bundle_plot(
        BundlePlot(
            "every-run",
            "Every run",
            f"Speed against time for each run of {', '.join(one.setups)}.",
            f"time since {start[0]:g} km/h, s",
            "speed, km/h: every run",
            tuple(bundles),
        )
    )


def _bounds(measure: Measure) -> tuple[float, float] | None:
    """The two speeds of a gate [km/h]; None for another measure."""
    if measure.unit != "s" or not measure.key.endswith(" km/h") or " to " not in measure.key:
        return None
    low, high = (float(part) for part in measure.key.removesuffix(" km/h").split(" to "))
    return low, high


def _traced(compared: Compared, setup: str, start_km_h: float) -> list[tuple[list[float], list[float]]]:
    """Traces, each from the moment at which it last passes the main gate's first speed."""
    lines = []
    for owner, trace in compared.traces.values():
        speed = 3.6 * trace.value
        passing = np.flatnonzero((speed[:-1] < start_km_h) & (speed[1:] >= start_km_h))
        if owner != setup or passing.size == 0:
            continue
        i = int(passing[0])
        step = trace.time_s[i + 1] - trace.time_s[i]
        t0 = trace.time_s[i] + step * (start_km_h - speed[i]) / (speed[i + 1] - speed[i])
        times, speeds = trace.time_s[i + 1 :] - t0, speed[i + 1 :]
        lines.append(([0.0, *map(float, times)], [start_km_h, *map(float, speeds)]))
    return lines


def _from_gates(compared: Compared, setup: str) -> list[tuple[list[float], list[float]]]:
    """Typed times that begin at the same speed, joined up: the only line that they allow."""
    gates = [(*bounds, one.key) for one in compared.comparison.measures if (bounds := _bounds(one)) is not None]
    if not gates:
        return []
    start = max({low for low, _, _ in gates}, key=lambda v: sum(low == v for low, _, _ in gates))
    own = sorted((high, key) for low, high, key in gates if low == start)
    lines = []
    for run in compared.comparison.runs:
        if run.setup != setup or run.dropped:
            continue
        points = [(0.0, start)] + [(run.measures[key].value, high) for high, key in own if key in run.measures]
        if len(points) > 1:
            lines.append(([t for t, _ in points], [v for _, v in points]))
    return lines


def power_curves(compared: Compared) -> Drawing | None:
    """Crank power against engine speed: the mean of each setup's runs with its 95 % band, and each run."""
    bundles = power_bundles(compared)
    if not bundles:
        return None
    return bundle_plot(
        BundlePlot(
            "power-from-speed",
            "power from speed",
            f"Crank power against engine speed for {', '.join(compared.comparison.setups)}.",
            "engine speed, rpm",
            "power at the crank, kW: mean of the runs with its 95 % band",
            tuple(bundles),
            from_zero=True,
        )
    )


def power_bundles(compared: Compared) -> list[Bundle]:
    """The power of each setup's runs over engine speed, its mean and its band; none where no run has any."""
    if not compared.powers:
        return []
    curves = [power for _, power in compared.powers.values()]
    low, high = min(float(p.rpm.min()) for p in curves), max(float(p.rpm.max()) for p in curves)
    grid = np.arange(100.0 * np.ceil(low / 100.0), high, 100.0)
    bundles = []
    for setup in compared.comparison.setups:
        own = [on_grid(power, grid) for owner, power in compared.powers.values() if owner == setup]
        if not own:
            continue
        stacked = np.array(own)
        count = np.isfinite(stacked).sum(axis=0)
        enough = count == len(own)
        mean = np.where(enough, np.nan_to_num(stacked).sum(axis=0) / len(own), np.nan)
        lines = tuple((list(map(float, grid)), list(map(float, one))) for one in own)
        band = None
        if len(own) > 1:
            spread = stacked[:, enough].std(axis=0, ddof=1)
            half = np.full(grid.size, np.nan)
            half[enough] = special.stdtrit(len(own) - 1, 0.975) * spread / np.sqrt(len(own))
            band = tuple(list(map(float, one)) for one in (grid, mean - half, mean + half))
        bundles.append(Bundle(setup, lines, (list(map(float, grid)), list(map(float, mean))), band))  # type: ignore[arg-type]
    return bundles
