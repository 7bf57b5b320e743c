"""How sure a power curve is: of its arithmetic, of the way it settled, and of the readings it rests on.

Each takes a curve and gives the same curve with one more thing known about it. What no run can tell, whether the model
is like the engine, stands in docs/concepts/what-the-curve-knows.md.
"""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from scribeline.cycle.from_record import Build, build_of
from scribeline.cycle.how_sure import TURNED_ON
from scribeline.cycle.simulate import FOR_SEARCHES, Settings
from scribeline.cycle.spread import ENGINES, spread
from scribeline.engine import COVERAGE_FACTOR, EngineRecord
from scribeline.geometry.work_out import work_out
from scribeline.tasks.curve import COLUMNS, Curve, OfReadings, Point, change_of_power, power_curve

Progress = Callable[[int, int], bool | None]
SPREAD_TOLERANCE = 0.01
"""Closer than that of FOR_SEARCHES: 2 % is known to keep an order, not what it would add to a spread."""


def with_coarser(curve: Curve, progress: Progress | None = None) -> Curve:
    """The same curve with its numerical uncertainty: simulated once more with cells twice as long."""
    settings = replace(curve.settings, cell_m=2.0 * curve.settings.cell_m)
    return replace(curve, coarser=_again(curve, settings, False, progress))


def with_downward(curve: Curve, progress: Progress | None = None) -> Curve:
    """The same curve from the other end: each speed started from its faster neighbour. See `downward_words`."""
    return replace(curve, downward=_again(curve, curve.settings, True, progress))


def with_later(curve: Curve, progress: Progress | None = None) -> Curve:
    """The same curve with each speed turned on for TURNED_ON revolutions after it had settled. See `later_words`."""
    return replace(curve, later=_again(curve, curve.settings, False, progress, TURNED_ON))


def _again(
    curve: Curve, settings: Settings, backwards: bool, progress: Progress | None, further: int = 0
) -> tuple[Point, ...]:
    engine = curve.build.engine
    way = -1 if backwards else 1
    again = power_curve(
        curve.out.record,
        [point.speed_rpm for point in curve.points][::way],
        settings,
        throttle=engine.throttle,
        blow_by_mm2=1e6 * engine.blow_by_m2,
        progress=progress,
        further=further,
    )
    return again.points[::way]


def with_plus_minus(curve: Curve, *, engines: int = ENGINES, progress: Progress | None = None) -> Curve:
    """The same curve with the +/- that it has from the readings of its record, COVERAGE_FACTOR standard deviations.

    Other engines within the +/- of every reading are simulated at the coarser setting for searches, in which like
    engines keep their differences. Whatever is assumed, and the model, is the same for all of them, so this is the
    part of the uncertainty that better measuring could take away. engines : 4 to 1000; a +/- from 24 of them is
    itself good to about 15 %. Raises CycleError as `cycle.spread.spread`.
    """
    engine, air = curve.build.engine, curve.settings.air
    settings = replace(
        curve.settings,
        cell_m=max(curve.settings.cell_m, FOR_SEARCHES.cell_m),
        tolerance=max(curve.settings.tolerance, SPREAD_TOLERANCE),
        patient=False,
    )

    def built(record: EngineRecord) -> Build:
        out = work_out(record, draws=0)
        return build_of(out, throttle=engine.throttle, air=air, blow_by_mm2=1e6 * engine.blow_by_m2)

    speeds = [point.speed_rpm for point in curve.points]
    done = spread(curve.out.record, speeds, settings, engines=engines, build=built, progress=progress)
    of: dict[str, list[float]] = {column.key: [] for column in COLUMNS}
    for point, results in zip(curve.points, done.results, strict=True):
        others = [replace(point, result=result, why_not="") for result in results]
        for column in COLUMNS:
            values = np.array([column.of(other) for other in others])
            values = values[np.isfinite(values)]
            enough = values.size >= max(2, engines // 2)
            of[column.key].append(float(COVERAGE_FACTOR * values.std(ddof=1)) if enough else math.nan)
    settled = tuple(len(results) for results in done.results)
    widths = {key: tuple(values) for key, values in of.items()}
    return replace(curve, of_readings=OfReadings(widths, engines, done.moved, done.refused, settled))


def fineness_words(curve: Curve) -> str:
    """How much the length of the cells matters, in one sentence; nothing where it was not tried."""
    changes = change_of_power(curve, curve.coarser)
    if not changes or curve.best is None:
        return ""
    worst = max(changes, key=lambda speed: abs(changes[speed]))
    at_best = f", at best power by {100 * changes.get(curve.best.speed_rpm, math.nan):+.1f} %"
    return (
        f"cells twice as long ({2e3 * curve.settings.cell_m:g} mm) change the power by at most "
        f"{100 * changes[worst]:+.1f} % ({worst:g} rpm){at_best}: take that as the error of the arithmetic alone"
    )


def downward_words(curve: Curve) -> str:
    """Whether the engine settles in one way or two, in one sentence; nothing where it was not tried."""
    changes = change_of_power(curve, curve.downward)
    if not changes:
        return ""
    worst = max(changes, key=lambda speed: abs(changes[speed]))
    two = [
        f"{point.speed_rpm:g}"
        for point in curve.points
        if abs(changes.get(point.speed_rpm, 0.0)) > _unsettled(point, curve.settings.tolerance)
    ]
    if not two:
        return (
            f"coming from faster speeds instead of slower ones changes the power by at most "
            f"{100 * changes[worst]:+.1f} % ({worst:g} rpm): it settles in one way"
        )
    return (
        f"coming from faster speeds it settles in another way at {', '.join(two)} rpm, with up to "
        f"{100 * changes[worst]:+.1f} % of power ({worst:g} rpm): there the engine has two ways to run, and either "
        "may be met"
    )


def later_words(curve: Curve) -> str:
    """Whether the speeds had settled, in one sentence; nothing where they were not turned on."""
    changes = change_of_power(curve, curve.later)
    if not changes:
        return ""
    worst = max(changes, key=lambda speed: abs(changes[speed]))
    crept = [
        f"{point.speed_rpm:g}"
        for point in curve.points
        if abs(changes.get(point.speed_rpm, 0.0)) > 0.5 * _unsettled(point, curve.settings.tolerance)
    ]
    by = f"turned on for {TURNED_ON} revolutions more the power changes by at most {100 * changes[worst]:+.1f} %"
    if not crept:
        return f"{by} ({worst:g} rpm): it had settled"
    return (
        f"{by} ({worst:g} rpm): at {', '.join(crept)} rpm it had not settled, though each revolution was like the one "
        f"before; that is more than the {100 * curve.settings.tolerance:g} % of its work that was asked for"
    )


def _unsettled(point: Point, tolerance: float) -> float:
    """By how much two runs of a speed may differ in power [-] while both are on their way to the same state.

    Each is within the tolerance in its work, and friction takes the same from both.
    """
    return 2.0 * tolerance * abs(point.got.imep_pa / point.got.bmep_pa)


def plus_minus_words(curve: Curve) -> str:
    """What the +/- of the readings rests on, in one sentence; nothing where it was not asked for."""
    one = curve.of_readings
    if one is None:
        return ""
    refused = f"; {one.refused} more were engines that cannot be, and were left out" if one.refused else ""
    return (
        f"the +/- is what {one.engines - one.refused} engines within the +/- of your {one.moved} readings differ by, "
        f"for about 95 %{refused}. It holds your measuring only: what is assumed, and the model, is not in it"
    )
