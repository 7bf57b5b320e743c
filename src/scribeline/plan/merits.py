"""What a power curve is worth to somebody: the few numbers that plans are compared by, and how they are got at.

The speed of most power is not among the sound ones: a tuned pipe's curve ends in a cliff and the peak sits on its
edge, so that a change that moves the whole band up can move the peak down. The middle of the band above 90 % of the
peak moves with the band. Both are given; judge by the middle.

Engines are simulated several at a time, each speed started from the gas of its slower neighbour or, in a search, of
today's engine at that speed (docs/performance.md compares them), with the setting for
searches: long cells, which rank engines as short ones do (docs/performance-cycle.md) at a fraction of the time.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import isfinite, nan, pi

import numpy as np

from scribeline.cycle.batches import curves
from scribeline.cycle.engine import Engine
from scribeline.cycle.from_record import Build, build_of
from scribeline.cycle.simulate import FOR_SEARCHES, CycleResult, Running, Settings
from scribeline.engine import EngineRecord
from scribeline.errors import ScribelineError, SearchError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.geometry.working import FloatArray

SEARCH = FOR_SEARCHES
FINE = Settings()
"""The setting that finalists are confirmed with."""
NEAR_PEAK = 0.9
LEAST_SPEEDS = 0.6
"""Share of the speeds that must come to a sound end for a curve to be compared at all. Judgement."""
GRAVITY_M_S2 = 9.80665
AIR_KG_M3 = 1.225


@dataclass(frozen=True)
class Speeds:
    """What an engine is judged over, all rev/min.

    band : where the power is wanted; low : where pull must be kept; points : crank speeds that are simulated
    """

    points: tuple[float, ...]
    band: tuple[float, float]
    low: tuple[float, float]


@dataclass(frozen=True)
class Swept:
    """One engine over its speeds; nan where a speed came to no sound end, whose reason is in why_not."""

    speeds_rpm: FloatArray
    power_kw: FloatArray
    trapped_mg: FloatArray
    octane_margin: FloatArray
    pipe_k: FloatArray
    why_not: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether enough speeds came to an end for the curve to be compared."""
        return bool(np.isfinite(self.power_kw).mean() >= LEAST_SPEEDS)


@dataclass(frozen=True)
class Merit:
    """One number of a curve. better : +1 where more is better, -1 where less is, 0 where it is only told."""

    key: str
    label: str
    unit: str
    better: int
    digits: int


MERITS = (
    Merit("peak_kw", "most power", "kW", 1, 2),
    Merit("band_kw", "mean power in the band", "kW", 1, 2),
    Merit("low_nm", "pull low down", "Nm", 1, 2),
    Merit("peak_rpm", "speed of most power", "rev/min", 0, 0),
    Merit("middle_rpm", "middle of the band above 90 % of most power", "rev/min", 0, 0),
    Merit("trapped_mg", "trapped mass in the band", "mg", 1, 1),
    Merit("octane_margin", "knock margin, the least in the band", "octane", 1, 1),
    Merit("top_km_h", "top speed on the level", "km/h", 1, 1),
)
BY_KEY = {merit.key: merit for merit in MERITS}


@dataclass(frozen=True)
class Road:
    """What is needed to know a top speed: km/h per rev/min, and the power at the crank to hold a speed."""

    km_h_per_rpm: float
    mass_kg: float
    rolling: float
    drag_area_m2: float
    efficiency: float

    def power_to_hold_kw(self, speed_km_h: FloatArray) -> FloatArray:
        """Power at the crank that holds a speed on the level in still standard air, kW.

            (m · g · c + ρ/2 · Ad · v²) · v / η

        >>> round(float(Road(0.01, 150.0, 0.02, 0.6, 0.9).power_to_hold_kw(np.array(90.0))), 3)
        7.195
        """
        v = speed_km_h / 3.6
        force = self.mass_kg * GRAVITY_M_S2 * self.rolling + 0.5 * AIR_KG_M3 * self.drag_area_m2 * v * v
        return np.asarray(force * v / self.efficiency / 1000.0)


def road_of(out: WorkedOut) -> Road | None:
    """The road as the record has it, in its highest gear; None where gearing, tyre or mass are not known."""
    gears = [name for name in out.values if name.startswith("road_speed") and out.values[name].value is not None]
    mass = out.record.vehicle.mass_with_rider_kg
    if not gears or mass is None or "power_to_hold_kw" not in out.values:
        return None

    def given(name: str) -> float:
        return out.readings[name].measured.value if name in out.readings else out.assumed[name].value

    fastest = max(out.values[name].value or 0.0 for name in gears)
    return Road(
        fastest / out.record.speed_rpm,
        mass.value,
        given("vehicle.rolling_resistance"),
        given("vehicle.drag_area_m2"),
        given("drivetrain.efficiency"),
    )


def merits_of(swept: Swept, speeds: Speeds, road: Road | None = None) -> dict[str, float]:
    """The numbers of MERITS; nan where the curve or the road does not give one.

    Between the speeds that were simulated the curve is taken as straight; a speed without result is bridged.
    """
    there = np.isfinite(swept.power_kw)
    if not swept.sound:
        return {merit.key: nan for merit in MERITS}
    n, power = swept.speeds_rpm[there], swept.power_kw[there]
    first, last = band_above(n, power, NEAR_PEAK)
    torque = power * 1000.0 / (n * pi / 30.0)
    merits = {
        "peak_kw": float(power.max()),
        "band_kw": mean_over(n, power, *speeds.band),
        "low_nm": mean_over(n, torque, *speeds.low),
        "peak_rpm": float(n[power.argmax()]),
        "middle_rpm": 0.5 * (first + last),
        "trapped_mg": mean_over(n, swept.trapped_mg[there], *speeds.band),
        "octane_margin": _least_in(n, swept.octane_margin[there], *speeds.band),
        "top_km_h": top_speed_km_h(n, power, road) if road else nan,
    }
    return {key: value if isfinite(value) else nan for key, value in merits.items()}


def mean_over(x: FloatArray, y: FloatArray, first: float, last: float) -> float:
    """Mean of a curve of straight pieces between two places; beyond its ends it goes on level.

    >>> mean_over(np.array([0.0, 1.0, 2.0]), np.array([0.0, 2.0, 0.0]), 0.5, 1.5)
    1.5
    """
    inside = x[(x > first) & (x < last)]
    at = np.array([first, *inside, last])
    return (
        float(np.trapezoid(np.interp(at, x, y), at) / (last - first)) if last > first else float(np.interp(first, x, y))
    )


def band_above(x: FloatArray, y: FloatArray, share: float) -> tuple[float, float]:
    """Ends of the stretch round the highest point in which a curve of straight pieces stays above a share of it.

    >>> band_above(np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 10.0, 5.0, 0.0]), 0.9)
    (0.9, 1.2)
    """
    top, level = int(y.argmax()), share * float(y.max())

    def end(way: int) -> float:
        i = top
        while 0 <= i + way < len(y) and y[i + way] >= level:
            i += way
        if not 0 <= i + way < len(y):
            return float(x[i])
        j = i + way
        return float(x[i] + (x[j] - x[i]) * (y[i] - level) / (y[i] - y[j]))

    return end(-1), end(1)


def top_speed_km_h(n_rpm: FloatArray, power_kw: FloatArray, road: Road) -> float:
    """The highest road speed that the power holds in the highest gear; nan where it holds none of those simulated.

    Where the power still suffices at the last speed, that speed: the engine would turn faster than was simulated.
    """
    spare = power_kw - road.power_to_hold_kw(n_rpm * road.km_h_per_rpm)
    held = np.flatnonzero(spare >= 0.0)
    if held.size == 0:
        return nan
    i = int(held[-1])
    if i + 1 == len(n_rpm):
        return float(n_rpm[i] * road.km_h_per_rpm)
    share = spare[i] / (spare[i] - spare[i + 1])
    return float((n_rpm[i] + share * (n_rpm[i + 1] - n_rpm[i])) * road.km_h_per_rpm)


def _least_in(x: FloatArray, y: FloatArray, first: float, last: float) -> float:
    inside = y[(x >= first - 1e-9) & (x <= last + 1e-9)]
    return float(inside.min()) if inside.size else float(np.interp(0.5 * (first + last), x, y))


class Simulated:
    """A record as the simulator wants it, worked out when it is first asked for where it is not yet."""

    def __init__(self, record: EngineRecord | WorkedOut) -> None:
        self.record = record
        self.build: Build | None = None

    def at(self, speed_rpm: float) -> Engine:
        """The engine at a speed, with the spark that it has there."""
        if self.build is None:
            known = self.record
            self.build = build_of(known if isinstance(known, WorkedOut) else work_out(known, draws=0))
        return self.build.at(speed_rpm)

    def swept(self, points: Sequence[float], row: Sequence[CycleResult | ScribelineError]) -> Swept:
        """A row of results as what is compared."""
        rows = np.full((4, len(points)), nan)
        why: list[str] = []
        for i, result in enumerate(row):
            if isinstance(result, ScribelineError):
                why.append(str(result))
            elif self.build is not None:
                rows[:, i] = (
                    result.power_w / 1e3, result.trapped_kg * 1e6, self.build.octane - result.octane_needed,
                    result.pipe_k,
                )  # fmt: skip
        return Swept(np.asarray(points, float), rows[0], rows[1], rows[2], rows[3], tuple(dict.fromkeys(why)))


def sweep(record: EngineRecord, points: Sequence[float], settings: Settings = SEARCH) -> Swept:
    """Simulate one record over ascending speeds.

    A record that cannot be simulated at all gives a curve without values; its reason is in why_not.
    """
    return next(sweep_many([record], points, settings, threads=1))


def sweep_many(
    records: Iterable[EngineRecord | WorkedOut],
    points: Sequence[float],
    settings: Settings = SEARCH,
    *,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
    side_by_side: bool = True,
    held: list[Running | None] | None = None,
    begun: Sequence[Running | None] | None = None,
    reached: Callable[[int, Swept], object] | None = None,
    leave_out: Collection[float] = (),
) -> Iterator[Swept]:
    """Simulate many records, several side by side in each thread; each comes once it and those before are done.

    The result does not depend on the number of threads. progress : called with records done and records in all;
    returning True raises SearchError. Left early, whatever has not begun is never done. Work begins with the first
    record that is brought, worked out by whoever has it so already. side_by_side : False for up to four records, which
    cost less one after the other, alike to rounding. held : filled with the only engine as it stands at each speed
    then. begun : such a list, of an engine whose gas the others start from
    reached : called, in a working thread, with the place of an engine and one speed of it as soon as that has ended;
    what it raises ends all of it, and is raised here. leave_out : speeds that are known, see `cycle.batches.curves`
    """
    engines: list[Simulated] = []

    def told(engine: int, speed: int, end: CycleResult | ScribelineError) -> None:
        if reached is not None:
            reached(engine, engines[engine].swept([points[speed]], [end]))

    def brought() -> Iterator[Callable[[float], Engine]]:
        for record in records:
            engines.append(Simulated(record))
            yield engines[-1].at

    rows = curves(
        brought(), points, settings, threads, side_by_side=side_by_side, held=held, begun=begun,
        reached=told if reached is not None else None, leave_out=leave_out,
    )  # fmt: skip
    try:
        for done, row in enumerate(rows, start=1):  # the first comes when all are brought
            yield engines[done - 1].swept(points, row)
            if progress is not None and progress(done, len(engines)):
                raise SearchError(f"stopped after {done} of {len(engines)} engines, as asked")
    finally:
        rows.close()
