"""The power curve of a record, and one speed of it opened up: simulated, judged, with everything it rests on.

A speed that cannot be brought to a sound end keeps its reason instead of a number, and the others still come. How it
is written down stands in curve_text and curve_page.
"""

import csv
import io
import json
import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scribeline import __version__
from scribeline.cycle.from_record import Build, build_of
from scribeline.cycle.holding_back import Cause, causes, holding_back
from scribeline.cycle.plausible import remarks
from scribeline.cycle.recording import Recording, record
from scribeline.cycle.simulate import CycleResult, Running, Settings, run
from scribeline.data.cautions import Caution, cautions_for
from scribeline.engine import EngineRecord, read_record_file
from scribeline.errors import CycleError
from scribeline.geometry.work_out import WorkedOut, work_out

MOST_SPEEDS = 200
# What every simulated number rests on besides the record: keys of the bibliography.
SOURCES = (
    "toro-2009", "levine-schwinger-1948", "wiebe-1962", "annand-1963", "hopkinson-1914", "heywood-1988", "blair-1996",
    "livengood-wu-1955", "douaud-eyzat-1978", "sutherland-air", "judgement", "common-practice",
)  # fmt: skip


@dataclass(frozen=True)
class Column:
    """One quantity of a curve: its key in JSON and CSV, its heading and unit, and how to get and write it."""

    key: str
    heading: str
    unit: str
    of: Callable[["Point"], float]
    digits: int


@dataclass(frozen=True)
class Point:
    """One speed: a result and what limits it, or the reason why there is none."""

    speed_rpm: float
    advance_deg: float
    octane: float
    result: CycleResult | None
    causes: tuple[Cause, ...] = ()
    recording: Recording | None = None
    why_not: str = ""

    @property
    def got(self) -> CycleResult:
        """The result of a speed that has one."""
        if self.result is None:
            raise CycleError(self.why_not)
        return self.result

    @property
    def limit(self) -> str:
        """What limits the engine at this speed, in one sentence."""
        if not self.causes:
            return ""
        uneven = f" It runs unevenly: revolutions differ by {100 * self.got.unevenness:.0f} %." if self.uneven else ""
        return holding_back(list(self.causes)) + uneven

    @property
    def uneven(self) -> bool:
        """Whether the figures are a mean of revolutions that differ by more than a hundredth."""
        return self.result is not None and self.result.averaged > 1 and self.result.unevenness > 0.01


COLUMNS = (
    Column("power_kw", "power", "kW", lambda p: p.got.power_w / 1e3, 2),
    Column("torque_nm", "torque", "Nm", lambda p: p.got.torque_nm, 2),
    Column("bmep_bar", "bmep", "bar", lambda p: p.got.bmep_pa / 1e5, 2),
    Column("delivery_ratio", "delivery ratio", "", lambda p: p.got.delivery_ratio, 3),
    Column("trapping_efficiency", "trapping", "", lambda p: p.got.trapping_efficiency, 3),
    Column("scavenging_efficiency", "scavenging", "", lambda p: p.got.scavenging_efficiency, 3),
    Column("charging_efficiency", "charging", "", lambda p: p.got.charging_efficiency, 3),
    Column("trapped_mg", "trapped mass", "mg", lambda p: p.got.trapped_kg * 1e6, 1),
    Column("bsfc_g_kwh", "bsfc", "g/kWh", lambda p: p.got.bsfc_g_kwh, 0),
    Column("peak_bar", "peak pressure", "bar", lambda p: p.got.peak_pa / 1e5, 1),
    Column("peak_deg_atdc", "at", "°", lambda p: p.got.peak_deg_atdc, 1),
    Column("exhaust_c", "exhaust gas", "°C", lambda p: p.got.exhaust_k - 273.15, 0),
    Column("knock_margin_octane", "knock margin", "octane", lambda p: p.octane - p.got.octane_needed, 0),
)


@dataclass(frozen=True)
class Curve:
    """A record simulated at several speeds."""

    out: WorkedOut
    build: Build
    settings: Settings
    points: tuple[Point, ...]
    remarks: tuple[str, ...]
    cautions: tuple[Caution, ...]
    coarser: tuple[Point, ...] = ()
    """The same speeds with cells twice as long, where that was asked for: see `with_coarser`."""

    @property
    def name(self) -> str:
        return self.out.record.name

    @property
    def best(self) -> Point | None:
        """The speed of most power, of those that have a result."""
        return max((p for p in self.points if p.result), key=lambda p: p.got.power_w, default=None)


def speeds_of(text: str) -> list[float]:
    """Crank speeds [rev/min] typed as FIRST:LAST:STEP, or as one speed; raises CycleError.

    >>> speeds_of("8000:9000:500")
    [8000.0, 8500.0, 9000.0]
    """
    accepted = "FIRST:LAST:STEP in rev/min, such as 4000:12000:500, all of 500 to 30000, at most 200 speeds"
    try:
        parts = [float(part) for part in text.split(":")]
    except ValueError:
        parts = []
    first, last, step = parts if len(parts) == 3 else (*parts * 2, 1.0) if len(parts) == 1 else (math.nan,) * 3
    if 500.0 <= first <= last <= 30000.0 and step > 0.0 and (last - first) / step < MOST_SPEEDS:
        return [first + i * step for i in range(math.floor((last - first) / step + 1e-9) + 1)]
    raise CycleError(f"--rpm {text}\n    accepted: {accepted}\n    what to do: write it again")


def usual_speeds(record: EngineRecord) -> list[float]:
    """From two fifths of the record's speed to a quarter above it, in steps of 500 rev/min."""
    first, last = (500.0 * round(share * record.speed_rpm / 500.0) for share in (0.4, 1.25))
    return [float(v) for v in np.arange(max(first, 1000.0), last + 1.0, 500.0)]


def settings(cell_mm: float) -> Settings | None:
    """The usual settings with another cell length [mm]; None for the usual one, so that the air counts as assumed."""
    return None if cell_mm == 1e3 * Settings().cell_m else Settings(cell_m=cell_mm / 1e3)


def power_curve(
    record: EngineRecord,
    speeds_rpm: Sequence[float] | None = None,
    settings: Settings | None = None,
    *,
    progress: Callable[[int, int], bool | None] | None = None,
    threads: int = 2,
) -> Curve:
    """Simulate a record at several speeds; each starts from the gas of its slower neighbour.

    speeds_rpm : ascending, [rev/min]; `usual_speeds` where left out. progress : called with points done and points in
    all; returning True stops. Raises CycleError where the record lacks what a simulation needs, and when stopped.
    """
    out = work_out(record, draws=0)
    build = build_of(out, air=settings.air if settings else None)
    settings = settings or Settings(air=build.air)
    speeds = list(speeds_rpm) if speeds_rpm is not None else usual_speeds(record)
    parts = [part.tolist() for part in np.array_split(np.asarray(speeds, float), threads) if part.size]
    done, stop = 0, False

    def stretch(some: list[float]) -> list[Point]:
        nonlocal done, stop
        points: list[Point] = []
        before: Running | None = None
        for speed in some:
            if stop:
                break
            point, running = simulated(build, speed, settings, before)
            points.append(point)
            before = running or before
            done += 1
            stop = bool(progress and progress(done, len(speeds))) or stop
        return points

    with ThreadPoolExecutor(threads) as pool:
        try:
            points = tuple(point for part in pool.map(stretch, parts) for point in part)
        finally:
            stop = True  # interrupted: let every thread finish the speed it is at, and no more
    if len(points) < len(speeds):
        raise CycleError(f"stopped after {len(points)} of {len(speeds)} speeds, as asked")
    best = max((p for p in points if p.result), key=lambda p: p.got.power_w, default=None)
    said = remarks(best.got, build.engine.cylinder.swept_m3) if best else []
    return Curve(out, build, settings, points, tuple(said), tuple(cautions_for("simulation")))


def with_coarser(curve: Curve, progress: Callable[[int, int], bool | None] | None = None) -> Curve:
    """The same curve with its numerical uncertainty: simulated once more with cells twice as long."""
    settings = replace(curve.settings, cell_m=2.0 * curve.settings.cell_m)
    speeds = [point.speed_rpm for point in curve.points]
    return replace(curve, coarser=power_curve(curve.out.record, speeds, settings, progress=progress).points)


def change_of_power(curve: Curve) -> dict[float, float]:
    """By how much cells twice as long change the power, relative, for each speed that has both."""
    pairs = zip(curve.points, curve.coarser, strict=False)
    return {a.speed_rpm: b.got.power_w / a.got.power_w - 1.0 for a, b in pairs if a.result and b.result}


def fineness_words(curve: Curve) -> str:
    """How much the length of the cells matters, in one sentence; nothing where it was not tried."""
    changes = change_of_power(curve)
    if not changes or curve.best is None:
        return ""
    worst = max(changes, key=lambda speed: abs(changes[speed]))
    at_best = f", at best power by {100 * changes.get(curve.best.speed_rpm, math.nan):+.1f} %"
    return (
        f"cells twice as long ({2e3 * curve.settings.cell_m:g} mm) change the power by at most "
        f"{100 * changes[worst]:+.1f} % ({worst:g} rpm){at_best}: take that as the error of the arithmetic alone"
    )


def simulated(
    build: Build, speed_rpm: float, settings: Settings, before: Running | None = None
) -> tuple[Point, Running | None]:
    """One speed, and the engine still turning for its neighbour to start from; None where it came to no sound end.

    before : the engine at a neighbouring speed, whose gas is taken over
    """
    advance = build.advance.at(speed_rpm)
    try:
        running = Running(build.at(speed_rpm), speed_rpm, settings)
        if before is not None:
            running.start_from(before)
        result = run(running)
        recording = record(running, build.transfers)
    except CycleError as error:
        return Point(speed_rpm, advance, build.octane, None, why_not=str(error)), None
    found = tuple(causes(running.engine, result, recording, build.octane, settings.air))
    return Point(speed_rpm, advance, build.octane, result, found, recording), running


def power_curve_of_file(
    path: Path,
    speeds_rpm: Sequence[float] | None = None,
    settings: Settings | None = None,
    *,
    progress: Callable[[int, int], bool | None] | None = None,
) -> Curve:
    """Read a record file and simulate it; RecordError where the file is refused, otherwise as `power_curve`."""
    return power_curve(read_record_file(path), speeds_rpm, settings, progress=progress)


def converged_words(point: Point) -> str:
    """How well a speed converged, in one short phrase."""
    r = point.got
    words = f"within {100.0 * r.distance:.2f} % after {r.cycles} revolutions"
    if point.uneven:
        words += f", mean of {r.averaged} uneven ones that differ by {100.0 * r.unevenness:.1f} %"
    return words


def curve_json(curve: Curve, other: Curve | None = None) -> str:
    """The curve, or two, as one JSON document; a speed without a result holds its reason under `why_not`."""
    document = _curve_json(curve)
    document["scribeline"] = __version__
    if other is not None:
        document["compare"] = _curve_json(other)
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def _curve_json(curve: Curve) -> dict[str, Any]:
    record = curve.out.record
    return {
        "engine": {"name": record.name, "invented": record.invented, "note": record.note},
        "units": {column.key: column.unit for column in COLUMNS},
        "points": [_point_json(point) for point in curve.points],
        "change_of_power_with_coarser_cells": {f"{rpm:g}": v for rpm, v in change_of_power(curve).items()},
        "remarks": list(curve.remarks),
        "assumed": [vars(one) for one in curve.build.taken],
        "left_out": list(curve.build.left_out),
        "sources": list(SOURCES),
        "cautions": [caution.text for caution in curve.cautions],
    }


def _point_json(point: Point) -> dict[str, Any]:
    if point.result is None:
        return {"speed_rpm": point.speed_rpm, "why_not": point.why_not}
    values = {column.key: _finite(column.of(point)) for column in COLUMNS}
    return {
        "speed_rpm": point.speed_rpm,
        "advance_deg": point.advance_deg,
        **values,
        "limit": point.limit,
        "causes": {cause.key: round(cause.cost, 4) for cause in point.causes},
        "distance": point.result.distance,
        "revolutions": point.result.cycles,
        "averaged": point.result.averaged,
        "unevenness": point.result.unevenness,
        "mass_imbalance": point.result.mass_imbalance,
    }


def _finite(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None


def curve_csv(curve: Curve, other: Curve | None = None) -> str:
    """One line for each speed, a heading line first; a speed without a result holds its reason in the last column."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    further = ["distance", "averaged", "unevenness", "limit", "why_not"]
    writer.writerow(["engine", "speed_rpm", *(c.key for c in COLUMNS), *further])
    for one in (curve, other) if other is not None else (curve,):
        for p in one.points:
            at = [one.name, f"{p.speed_rpm:g}"]
            if p.result is None:
                writer.writerow([*at, *[""] * (len(COLUMNS) + 4), p.why_not])
            else:
                numbers = [*(c.of(p) for c in COLUMNS), p.result.distance, p.result.averaged, p.result.unevenness]
                writer.writerow([*at, *(f"{v:.6g}" for v in numbers), p.limit, ""])
    return file.getvalue()
