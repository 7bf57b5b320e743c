"""The power curve of a record, and one speed of it opened up: simulated, judged, with everything it rests on.

A speed that cannot be brought to a sound end keeps its reason instead of a number, and the others still come. How it
is written down stands in curve_text and curve_page.
"""

import csv
import io
import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from scribeline import __version__
from scribeline.cycle.along import Found, along
from scribeline.cycle.engine import Conditions, Knobs
from scribeline.cycle.from_record import Build, build_of
from scribeline.cycle.holding_back import Cause, causes, holding_back
from scribeline.cycle.how_sure import turn_on
from scribeline.cycle.keeping import save_results
from scribeline.cycle.lanes import Task, turn_curves
from scribeline.cycle.plausible import remarks
from scribeline.cycle.recording import Recording, record
from scribeline.cycle.relied_on import Left, left
from scribeline.cycle.simulate import CycleResult, Running, Settings, run
from scribeline.data.cautions import Caution, cautions_for
from scribeline.engine import EngineRecord, read_record_file
from scribeline.errors import CycleError, ScribelineError, TrialError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.models import moist_air
from scribeline.models.knock import ERROR_OCTANE
from scribeline.models.relation import UNITS, Relation

MOST_SPEEDS = 200
STOPPED = "not simulated: the curve was stopped before"
METHOD_SOURCES = ("toro-2009",)  # of the arithmetic; those of the physics come with each relation


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
    Column("octane_needed", "octane needed", "RON", lambda p: p.got.octane_needed, 0),
    Column("knock_margin_octane", "knock margin", "octane", lambda p: p.octane - p.got.octane_needed, 0),
)


@dataclass(frozen=True)
class OfReadings:
    """The +/- that a curve has from the readings of its record.

    of : for each column's key one +/- for each speed, nan where too few of the engines came to a sound end
    engines : how many engines within the readings' +/- were simulated; moved : how many readings have one
    refused : engines whose readings contradicted each other; settled : how many came to a sound end at each speed
    """

    of: Mapping[str, tuple[float, ...]]
    engines: int
    moved: int
    refused: int
    settled: tuple[int, ...]


@dataclass(frozen=True)
class Curve:
    """A record simulated at several speeds."""

    out: WorkedOut
    build: Build
    settings: Settings
    points: tuple[Point, ...]
    remarks: tuple[str, ...]
    cautions: tuple[Caution, ...]
    relied_on: tuple[Relation, ...]
    left: tuple[Left, ...]
    """Ranges that a relation is known for and that some speed left."""
    coarser: tuple[Point, ...] = ()
    """The same speeds with cells twice as long, where that was asked for: see `curve_sure.with_coarser`."""
    downward: tuple[Point, ...] = ()
    """The same speeds started from the faster neighbour instead of the slower: see `curve_sure.with_downward`."""
    later: tuple[Point, ...] = ()
    """The same speeds turned on after they had settled, where that was asked for: see `curve_sure.with_later`."""
    of_readings: "OfReadings | None" = None
    """What the +/- of the readings makes of it, where that was asked for: see `curve_sure.with_plus_minus`."""

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


def settings(cell_mm: float, air: Conditions | None = None, knobs: Knobs | None = None) -> Settings | None:
    """Settings with this cell length [mm], air, knobs; None for the usual ones, so that the air counts as assumed."""
    if air is None and knobs is None and cell_mm == 1e3 * Settings().cell_m:
        return None
    return Settings(cell_m=cell_mm / 1e3, air=air or Conditions(), knobs=knobs or Knobs())


def air_outside(hpa: float | None, celsius: float | None, humidity_percent: float | None) -> Conditions | None:
    """The air a builder read off: barometer [hPa], temperature [°C], relative humidity [%]; None where none was given.

    What is left out is 1013.25 hPa, 25 °C, dry. Raises TrialError outside -10 to 45 °C, 600 to 1100 hPa, 0 to 100 %.

    >>> air_outside(980.0, 12.0, None)
    Conditions(p_pa=98000.0, t_k=285.15, vapour_share=0.0)
    """
    if hpa is None and celsius is None and humidity_percent is None:
        return None
    if humidity_percent is not None and not 0.0 <= humidity_percent <= 100.0:
        raise TrialError(
            f"a relative humidity of {humidity_percent:g} %\n    accepted: 0 to 100 %\n"
            "    what to do: read the hygrometer again"
        )
    usual = Conditions()
    p_pa = usual.p_pa if hpa is None else 100.0 * hpa
    t_c = usual.t_k - 273.15 if celsius is None else celsius
    found = moist_air.air(t_c, p_pa, 0.01 * (humidity_percent or 0.0))
    return Conditions(p_pa, t_c + 273.15, found.vapour_pa / p_pa)


def power_curve(
    record: EngineRecord,
    speeds_rpm: Sequence[float] | None = None,
    settings: Settings | None = None,
    *,
    throttle: float = 1.0,
    blow_by_mm2: float = 0.0,
    progress: Callable[[int, int], bool | None] | None = None,
    threads: int = 2,
    coming_from: float | None = None,
    further: int = 0,
    so_far: bool = False,
) -> Curve:
    """Simulate a record at several speeds; each starts from the gas of the one before it.

    speeds_rpm : ascending or descending, [rev/min]; `usual_speeds` where left out
    throttle : open share of the carburettor's bore, 0.1 to 1; blow_by_mm2 : area that leaks past the rings, 0 for none
    progress : called with points done and points in all; returning True stops
    coming_from : a speed to simulate first, from whose gas each thread's first one starts, instead of from still air
    further : revolutions to turn each speed on after it has settled; the figures are then those of the end
    so_far : whether a curve that was stopped is wanted: the speeds that were not come to have STOPPED for their reason
    Raises CycleError where the record lacks what a simulation needs, and when stopped with nothing that is wanted.
    """
    out = work_out(record, draws=0)
    build = build_of(out, throttle=throttle, air=settings.air if settings else None, blow_by_mm2=blow_by_mm2)
    settings = settings or Settings(air=build.air)
    speeds = list(speeds_rpm) if speeds_rpm is not None else usual_speeds(record)
    parts = [part.tolist() for part in np.array_split(np.arange(len(speeds)), threads) if part.size]
    reached: list[Point | None] = [None] * len(speeds)
    done, stop = 0, False

    def stretch(numbers: list[int]) -> Task:
        before = simulated(build, coming_from, settings)[1] if coming_from is not None else None

        def keep(i: int, running: Running | None, found: Found) -> None:
            nonlocal done, stop
            point = point_of(build, speeds[numbers[i]], running, found)
            reached[numbers[i]] = turned_on(point, running, further) if further and running and point.result else point
            done += 1
            stop = bool(progress and progress(done, len(speeds))) or stop

        yield from along(build.at, [speeds[i] for i in numbers], settings, keep, before)

    turn_curves([stretch(part) for part in parts], lambda: stop)
    points = tuple(point for point in reached if point)
    if len(points) < len(speeds):
        if not (so_far and any(one.result for one in points)):
            raise CycleError(f"stopped after {len(points)} of {len(speeds)} speeds, as asked")
        there = {one.speed_rpm: one for one in points}
        points = tuple(there.get(speed) or _left_out(build, speed) for speed in speeds)
    best = max((p for p in points if p.result), key=lambda p: p.got.power_w, default=None)
    said = remarks(best.got, build.engine.cylinder.swept_m3) if best else []
    runs = [(p.got, p.recording) for p in points if p.result and p.recording]
    used, beyond = left(build.engine, runs, settings.air, settings.knobs)
    cautions = tuple(cautions_for("simulation"))
    return Curve(out, build, settings, points, tuple(said), cautions, used, tuple(beyond))


def _left_out(build: Build, speed_rpm: float) -> Point:
    return Point(speed_rpm, build.advance.at(speed_rpm), build.octane, None, why_not=STOPPED)


def left_undone(curve: Curve) -> list[float]:
    """The speeds that a stopped curve was not simulated at."""
    return [point.speed_rpm for point in curve.points if point.why_not == STOPPED]


def sources_of(curve: Curve) -> tuple[str, ...]:
    """Keys of the bibliography that a curve rests on besides the record, each once."""
    return tuple(dict.fromkeys([*METHOD_SOURCES, *(key for one in curve.relied_on for key in one.sources)]))


def change_of_power(curve: Curve, others: Sequence[Point]) -> dict[float, float]:
    """By how much the other points of the same speeds differ in power, relative, for each speed that has both."""
    pairs = zip(curve.points, others, strict=False)
    return {a.speed_rpm: b.got.power_w / a.got.power_w - 1.0 for a, b in pairs if a.result and b.result}


def simulated(
    build: Build, speed_rpm: float, settings: Settings, before: Running | None = None
) -> tuple[Point, Running | None]:
    """One speed, and the engine still turning for its neighbour to start from; None where it came to no sound end.

    before : the engine at a neighbouring speed, whose gas is taken over
    """
    try:
        running = Running(build.at(speed_rpm), speed_rpm, settings)
        found: Found = run(running, before)
    except CycleError as error:
        return point_of(build, speed_rpm, None, error), None
    point = point_of(build, speed_rpm, running, found)
    return point, running if point.result else None


def point_of(build: Build, speed_rpm: float, running: Running | None, found: Found) -> Point:
    """One speed with what limits it, from one more revolution; without a result where it came to no sound end."""
    advance = build.advance.at(speed_rpm)
    try:
        if running is None or isinstance(found, ScribelineError):
            raise found if isinstance(found, ScribelineError) else CycleError("not simulated")
        recording = record(running, build.transfers)
    except CycleError as error:
        return Point(speed_rpm, advance, build.octane, None, why_not=str(error))
    some = tuple(causes(running.engine, found, recording, build.octane, running.settings.air))
    return Point(speed_rpm, advance, build.octane, found, some, recording)


def turned_on(point: Point, running: Running, revolutions: int) -> Point:
    """A speed with the figures that it has so many revolutions later; without a result where it does not get there."""
    try:
        return replace(point, result=turn_on(running, point.got, revolutions))
    except CycleError as error:
        return Point(point.speed_rpm, point.advance_deg, point.octane, None, why_not=str(error))


def power_curve_of_file(
    path: Path,
    speeds_rpm: Sequence[float] | None = None,
    settings: Settings | None = None,
    *,
    throttle: float = 1.0,
    blow_by_mm2: float = 0.0,
    progress: Callable[[int, int], bool | None] | None = None,
) -> Curve:
    """Read a record file and simulate it; RecordError where the file is refused, otherwise as `power_curve`."""
    record = read_record_file(path)
    return power_curve(record, speeds_rpm, settings, throttle=throttle, blow_by_mm2=blow_by_mm2, progress=progress)


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
    document: dict[str, Any] = {
        "engine": {"name": record.name, "invented": record.invented, "note": record.note},
        "throttle": curve.build.engine.throttle,
        "blow_by_mm2": 1e6 * curve.build.engine.blow_by_m2,
        "octane_plus_minus": ERROR_OCTANE,
        "air": vars(curve.settings.air),
        "units": {column.key: column.unit for column in COLUMNS},
        "points": [_point_json(curve, i) for i in range(len(curve.points))],
        "remarks": list(curve.remarks),
        "assumed": [vars(one) for one in curve.build.taken],
        "left_out": list(curve.build.left_out),
        "relied_on": [_relation_json(curve, one) for one in curve.relied_on],
        "sources": list(sources_of(curve)),
        "cautions": [caution.text for caution in curve.cautions],
    }
    for key, others in (
        ("with_coarser_cells", curve.coarser),
        ("swept_the_other_way", curve.downward),
        ("turned_on", curve.later),
    ):
        document[f"change_of_power_{key}"] = {f"{rpm:g}": v for rpm, v in change_of_power(curve, others).items()}
    if curve.of_readings is not None:
        one = curve.of_readings
        document["plus_minus"] = {"engines": one.engines, "readings_moved": one.moved, "refused": one.refused}
    return document


def _relation_json(curve: Curve, relation: Relation) -> dict[str, Any]:
    beyond = {one.range: one for one in curve.left if one.relation is relation}
    return {
        "name": relation.name,
        "gives": relation.gives,
        "sources": list(relation.sources),
        "knobs": [vars(knob) for knob in relation.knobs],
        "constants": [vars(constant) for constant in relation.constants],
        "known_for": [
            {
                "quantity": one.quantity,
                "unit": UNITS[one.quantity],
                "low": one.low,
                "high": one.high,
                "went_to": [_finite(beyond[one].lowest), _finite(beyond[one].highest)] if one in beyond else None,
            }
            for one in relation.ranges
        ],
    }


def _point_json(curve: Curve, i: int) -> dict[str, Any]:
    point = curve.points[i]
    if point.result is None:
        return {"speed_rpm": point.speed_rpm, "why_not": point.why_not}
    values: dict[str, Any] = {column.key: _finite(column.of(point)) for column in COLUMNS}
    if curve.of_readings is not None:
        values["plus_minus"] = {column.key: _finite(curve.of_readings.of[column.key][i]) for column in COLUMNS}
        values["plus_minus_rests_on"] = curve.of_readings.settled[i]
    if curve.coarser or curve.later:
        values["numerical_plus_minus"] = {c.key: _finite(numerical_plus_minus(curve, c, i)) for c in COLUMNS}
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


def numerical_plus_minus(curve: Curve, column: Column, i: int) -> float:
    """Numerical uncertainty of a number of speed i: what longer cells and turning on change, added; nan without."""
    here = curve.points[i]
    others = [points[i] for points in (curve.coarser, curve.later) if points]
    if here.result is None or len(others) < 2 or any(one.result is None for one in others):
        return math.nan
    return sum(abs(column.of(one) - column.of(here)) for one in others)


def save_curve(curve: Curve, path: Path) -> None:
    """Write the results of a curve's sound speeds, traces and all, to one NumPy archive; see `cycle.keeping`."""
    save_results([point.got for point in curve.points if point.result], path)


def _finite(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None


def curve_csv(curve: Curve, other: Curve | None = None) -> str:
    """One line for each speed, a heading line first; a speed without a result holds its reason in the last column.

    Where a +/- of the readings was asked for, each quantity's follows all quantities, as `power_kw_plus_minus`; where
    the numerical uncertainty was, as `power_kw_numerical_plus_minus`.
    """
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    both = (curve, other) if other is not None else (curve,)
    widths = [f"{c.key}_plus_minus" for c in COLUMNS] if any(one.of_readings for one in both) else []
    sure = any(one.coarser or one.later for one in both)
    widths += [f"{c.key}_numerical_plus_minus" for c in COLUMNS] if sure else []
    further = ["distance", "averaged", "unevenness", "limit", "why_not"]
    writer.writerow(["engine", "speed_rpm", *(c.key for c in COLUMNS), *widths, *further])
    for one in both:
        for i, p in enumerate(one.points):
            at = [one.name, f"{p.speed_rpm:g}"]
            if p.result is None:
                writer.writerow([*at, *[""] * (len(COLUMNS) + len(widths) + 4), p.why_not])
                continue
            numbers = [c.of(p) for c in COLUMNS]
            if any(each.of_readings for each in both):
                numbers += [one.of_readings.of[c.key][i] if one.of_readings else math.nan for c in COLUMNS]
            if sure:
                numbers += [numerical_plus_minus(one, c, i) for c in COLUMNS]
            numbers += [p.result.distance, p.result.averaged, p.result.unevenness]
            writer.writerow([*at, *(f"{v:.6g}" if math.isfinite(v) else "" for v in numbers), p.limit, ""])
    return file.getvalue()
