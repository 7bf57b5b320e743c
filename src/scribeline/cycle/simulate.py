"""One engine at one speed, turned until it repeats; a power curve; a batch of variants.

A run either ends at a state whose estimated distance to the true periodic state is below the tolerance, or raises
CycleError with the numbers; it never returns a result that merely looks finished.
"""

import math
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from scribeline.cycle import turning as tn
from scribeline.cycle.engine import Conditions, Engine, Knobs, Tables, tables_of
from scribeline.errors import CycleError
from scribeline.kernels.duct import INV_VOL, RHO, T
from scribeline.kernels.gas import FloatArray, temperature_mixture
from scribeline.kernels.network import OUT_OF_STEPS, UNPHYSICAL
from scribeline.models.friction import friction_mep_pa
from scribeline.models.gas_properties import vapour_kg_per_kg
from scribeline.models.knock import octane_needed

TRACE_BINS = 720
LOOK_BACK = 4
UNEVEN_BLOCK = 12
LITTLE_UNEVEN = 0.01  # spread of the work up to which two blocks are enough to compare
LEAST_FOR_BLOCKS = 48  # where the work is spread wider


@dataclass(frozen=True)
class Settings:
    """How finely and how long. cell_m : cell length [m]; tolerance : estimated distance to the periodic state [-]."""

    cell_m: float = 0.010
    tolerance: float = 0.005
    most_cycles: int = 80
    least_cycles: int = 6
    most_steps: int = 200_000
    air: Conditions = field(default_factory=Conditions)
    knobs: Knobs = field(default_factory=Knobs)


@dataclass(frozen=True)
class CycleResult:
    """One speed. Masses per revolution [kg], ratios [-]; `history` holds imep, trapped, case mass, pipe energy."""

    speed_rpm: float
    power_w: float
    torque_nm: float
    imep_pa: float
    bmep_pa: float
    delivery_ratio: float
    trapping_efficiency: float
    scavenging_efficiency: float
    charging_efficiency: float
    trapped_kg: float
    bsfc_g_kwh: float
    peak_pa: float
    peak_deg_atdc: float
    exhaust_k: float
    """Temperature of the gas that passes the exhaust port, averaged by energy [K]."""
    pipe_k: float
    """Mean temperature of the gas in the exhaust pipe at exhaust closing, averaged by mass [K]."""
    octane_needed: float
    cycles: int
    averaged: int
    """Revolutions whose mean the figures are: 1 where every one is alike, 2 where every second, 12 where none is."""
    unevenness: float
    """Spread of the work of those revolutions, largest less smallest over the mean [-]."""
    distance: float
    """Estimated relative distance to the periodic state when the run ended."""
    mass_imbalance: float
    """(intake - exhaust) over intake of the last revolution."""
    heat_j: float
    gained_j: float
    lost_j: float
    work_j: float
    energy_in_j: float
    energy_out_j: float
    steps: int
    unsolved: int
    trace: FloatArray
    """Rows of turning.TRACE_*, columns over one revolution from top dead centre; shape (5, 720)."""
    history: FloatArray


def distance_to_limit(history: FloatArray, renewal: float) -> float:
    """Estimate how far the last of a series of revolutions is from the periodic state, relative, worst quantity.

    history : shape (revolutions, quantities); renewal : revolutions until the gas in the pipe has been renewed.
    What changes slowly in an engine is the gas that travels down the pipe: old gas is felt until the last of it has
    left. So the trend of the last LOOK_BACK revolutions is taken to go on that long, and how far one of them strays
    from the trend is added. Rates of decay, the usual measure, mean little here: a front on its way changes nothing
    until it arrives. Infinite for fewer than LOOK_BACK revolutions.

    >>> round(distance_to_limit(np.array([[1.00], [1.01], [1.02], [1.03]]), 10.0), 4)
    0.0985
    """
    if len(history) < LOOK_BACK:
        return math.inf
    last = history[-LOOK_BACK:]
    mean = last.mean(axis=0)
    when = np.arange(LOOK_BACK)[:, None] - 0.5 * (LOOK_BACK - 1)
    trend = (when * last).sum(axis=0) / (when * when).sum()
    strays = np.abs(last - mean - when * trend).max(axis=0)
    return float(((np.abs(trend) * renewal + strays) / np.abs(mean)).max())


class Running:
    """An engine turning: holds the tables and turns them one revolution at a time."""

    def __init__(self, engine: Engine, speed_rpm: float, settings: Settings) -> None:
        self.engine, self.speed_rpm, self.settings = engine, speed_rpm, settings
        self.tables: Tables = tables_of(engine, speed_rpm, settings.cell_m, settings.air, settings.knobs)
        self.flows = np.zeros((3, len(self.tables.network.ends)))
        self.totals = np.zeros(tn.TOTALS)
        self.recent: deque[tuple[FloatArray, FloatArray]] = deque(maxlen=UNEVEN_BLOCK)
        self.trace = np.zeros((tn.TRACES, TRACE_BINS))

    def turn(self) -> None:
        """One revolution, exhaust closing to exhaust closing; raises CycleError where it cannot be finished."""
        t, n = self.tables, self.tables.network
        status = tn.turn(
            n.q, n.w, n.geo, n.gas, n.ends, n.steps, n.ratios, n.volumes, t.port_of_end, t.end_data, t.ports, t.engine,
            t.memory, self.flows, self.totals, self.trace, t.pipe, self.settings.most_steps,
        )  # fmt: skip
        if status == UNPHYSICAL:
            raise CycleError(f"{self.speed_rpm:g} rpm: density or pressure left physical bounds; try smaller cells")
        if status == OUT_OF_STEPS:
            raise CycleError(f"{self.speed_rpm:g} rpm: one revolution needs over {self.settings.most_steps} steps")
        fresh, trapped = self.totals[tn.TRAPPED_FRESH_KG], self.totals[tn.TRAPPED_KG]
        if not 0.0 <= fresh <= trapped * (1.0 + 1e-9):
            raise CycleError(
                f"{self.speed_rpm:g} rpm: {1e6 * fresh:.4g} mg of fresh charge in {1e6 * trapped:.4g} mg of gas; "
                "try smaller cells"
            )
        if self.totals[tn.UNSOLVED] > 0:
            raise CycleError(f"{self.speed_rpm:g} rpm: {self.totals[tn.UNSOLVED]:g} port pressures were not found")
        self.recent.append((self.totals.copy(), self.flows.copy()))

    def start_from(self, other: "Running") -> None:
        """Take over the gas of the same engine at a neighbouring speed."""
        mine, theirs = self.tables, other.tables
        for name in ("q", "w", "volumes"):
            getattr(mine.network, name)[:] = getattr(theirs.network, name)
        mine.memory[:4] = theirs.memory[:4]

    def monitored(self) -> FloatArray:
        """Mean pressure, trapped mass, crankcase mass, pipe energy of the last revolution."""
        t = self.totals
        return np.array([t[tn.WORK_J] + t[tn.CASE_WORK_J], t[tn.TRAPPED_KG], t[tn.CASE_KG], t[tn.PIPE_J]])

    def pipe_temperature_k(self) -> float:
        """Mean temperature of the gas in the exhaust pipe now, averaged by mass [K]."""
        net, here = self.tables.network, slice(*self.tables.pipe)
        mass = net.q[RHO, here] / net.geo[INV_VOL, here]
        return float((mass * net.w[T, here]).sum() / mass.sum())

    def renewal(self) -> float:
        """Revolutions until the gas in the exhaust pipe has been renewed, by its mass and that of a revolution."""
        net, here = self.tables.network, slice(*self.tables.pipe)
        mass = (net.q[RHO, here] / net.geo[INV_VOL, here]).sum()
        return float(mass / max(self.mean(LOOK_BACK)[1][0, 1], 0.01 * mass))

    def mean(self, revolutions: int) -> tuple[FloatArray, FloatArray]:
        """Totals and flows, averaged over the last revolutions (at most UNEVEN_BLOCK)."""
        last = list(self.recent)[-revolutions:]
        return np.mean([t for t, _ in last], axis=0), np.mean([f for _, f in last], axis=0)

    def mass_imbalance(self, revolutions: int = 1) -> float:
        """What the intake let in less what the exhaust let out in the last revolutions, over the former [-]."""
        flows = self.mean(revolutions)[1]
        into, out = -flows[0, -1], flows[0, 1]
        return float((into - out) / into)

    def result(self, history: FloatArray, distance: float, averaged: int) -> CycleResult:
        """What a builder wants to know of the mean of the last revolutions."""
        e = self.engine
        t, flows = self.mean(averaged)
        tables, gas = self.tables, self.tables.network.gas
        swept = e.cylinder.swept_m3
        imep = (t[tn.WORK_J] + t[tn.CASE_WORK_J]) / swept
        bmep = imep - friction_mep_pa(e.cylinder.stroke_m, self.speed_rpm)
        torque = bmep * swept / (2.0 * math.pi)
        power = torque * self.speed_rpm * 2.0 * math.pi / 60.0
        mouth, tail = len(tables.network.ends) - 1, 1
        intake_kg = -flows[0, mouth]
        delivered = sum(flows[2, 2 * i + 3] for i in range(len(e.transfers)))
        fuel_kg = intake_kg / (1.0 + e.afr * (1.0 + vapour_kg_per_kg(self.settings.air.vapour_share)))
        out_kg = -flows[0, 0]
        y = flows[2, 0] / flows[0, 0]
        h = -flows[1, 0] / out_kg
        # enthalpy to temperature: e = h - R T, twice from a guess is enough for a figure in kelvin
        r = gas[0] + y * (gas[1] - gas[0])
        t_k = 800.0
        for _ in range(60):
            t_k = temperature_mixture(gas, h - r * t_k, y, t_k)
        return CycleResult(
            speed_rpm=self.speed_rpm,
            power_w=power,
            torque_nm=torque,
            imep_pa=imep,
            bmep_pa=bmep,
            delivery_ratio=intake_kg / tables.reference_kg,
            trapping_efficiency=t[tn.TRAPPED_FRESH_KG] / delivered,
            scavenging_efficiency=t[tn.TRAPPED_FRESH_KG] / t[tn.TRAPPED_KG],
            charging_efficiency=t[tn.TRAPPED_FRESH_KG] / tables.reference_kg,
            trapped_kg=t[tn.TRAPPED_KG],
            bsfc_g_kwh=3.6e9 * fuel_kg * self.speed_rpm / 60.0 / power if power > 0.0 else math.inf,
            peak_pa=t[tn.PEAK_PA],
            peak_deg_atdc=math.degrees(t[tn.PEAK_RAD]),
            exhaust_k=t_k,
            pipe_k=self.pipe_temperature_k(),
            octane_needed=octane_needed(t[tn.KNOCK], self.settings.knobs.octane),
            cycles=len(history),
            averaged=averaged,
            unevenness=float(np.ptp(history[-averaged:, 0]) / abs(t[tn.WORK_J])),
            distance=distance,
            mass_imbalance=self.mass_imbalance(averaged),
            heat_j=t[tn.HEAT_J],
            gained_j=t[tn.GAINED_J],
            lost_j=t[tn.LOST_J],
            work_j=t[tn.WORK_J] + t[tn.CASE_WORK_J],
            energy_in_j=-flows[1, mouth],
            energy_out_j=flows[1, tail],
            steps=int(t[tn.STEPS]),
            unsolved=int(t[tn.UNSOLVED]),
            trace=self.trace.copy(),
            history=history,
        )


def run(running: Running) -> CycleResult:
    """Turn until the estimated distance to the periodic state is below the tolerance.

    An engine may settle to a state that repeats only every second revolution, or runs unevenly for ever. So means of
    pairs are judged as well, and the last two means of UNEVEN_BLOCK revolutions, both to half the tolerance; the
    result says how many revolutions it is the mean of and how much they differ.
    """
    s = running.settings
    history = np.zeros((0, 4))
    distance = math.inf
    for cycle in range(1, s.most_cycles + 1):
        running.turn()
        history = np.vstack([history, running.monitored()])
        if cycle < s.least_cycles:
            continue
        renewal = running.renewal()
        # what is stored or given back is a distance from the periodic state that no trend can hide
        distance = max(distance_to_limit(history, renewal), abs(running.mass_imbalance(LOOK_BACK)))
        if distance < s.tolerance:
            return running.result(history, distance, 1)
        if cycle >= 2 * LOOK_BACK + 2:
            pairs = history[-2 * LOOK_BACK :].reshape(LOOK_BACK, 2, 4).mean(axis=1)
            of_pairs = max(distance_to_limit(pairs, 0.5 * renewal), abs(running.mass_imbalance(2 * LOOK_BACK)))
            if of_pairs < 0.5 * s.tolerance:
                return running.result(history, of_pairs, 2)
        blocks = history[-2 * UNEVEN_BLOCK :]
        even = np.ptp(blocks[:, 0]) < LITTLE_UNEVEN * abs(history[-1, 0])
        if cycle >= (2 * UNEVEN_BLOCK if even else LEAST_FOR_BLOCKS):
            early, late = blocks.reshape(2, UNEVEN_BLOCK, 4).mean(axis=1)
            of_blocks = max(float(np.abs(late / early - 1.0).max()), abs(running.mass_imbalance(UNEVEN_BLOCK)))
            if of_blocks < 0.5 * s.tolerance:
                return running.result(history, of_blocks, UNEVEN_BLOCK)
    spread = np.ptp(history[-UNEVEN_BLOCK:, 0]) / abs(history[-1, 0])
    raise CycleError(
        f"{running.speed_rpm:g} rpm: after {s.most_cycles} revolutions still an estimated {100 * distance:.2g} % "
        f"from the periodic state (asked {100 * s.tolerance:.2g} %), and the work of the last twelve differs by "
        f"{100 * spread:.2g} %; allow more revolutions or a larger tolerance, or take it that this engine runs unevenly"
    )


def simulate(engine: Engine, speed_rpm: float, settings: Settings | None = None) -> CycleResult:
    """Simulate one engine at one speed until it repeats.

    speed_rpm : 500 to 30000. Raises CycleError for an engine that cannot be simulated or a run that does not converge.
    """
    return run(Running(engine, speed_rpm, settings or Settings()))


def power_curve(
    engine: Engine,
    speeds_rpm: Sequence[float],
    settings: Settings | None = None,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> list[CycleResult]:
    """Simulate an engine at several speeds, each started from the gas of its neighbour.

    The speeds are dealt out to the threads in runs of neighbours, so the result does not depend on timing.
    progress : called with points done and points in all; returning True stops the curve and raises CycleError.
    Raises CycleError for the first speed that cannot be simulated.
    """
    settings = settings or Settings()
    parts = [part.tolist() for part in np.array_split(np.asarray(speeds_rpm, float), threads) if part.size]
    done = 0
    stop = False

    def stretch(speeds: list[float]) -> list[CycleResult]:
        nonlocal done, stop
        results: list[CycleResult] = []
        before: Running | None = None
        for speed in speeds:
            if stop:
                raise CycleError(f"stopped after {done} of {len(speeds_rpm)} speeds, as asked")
            here = Running(engine, speed, settings)
            if before is not None:
                here.start_from(before)
            results.append(run(here))
            before = here
            done += 1
            if progress is not None and progress(done, len(speeds_rpm)):
                stop = True
        return results

    with ThreadPoolExecutor(threads) as pool:
        found = [result for part in pool.map(stretch, parts) for result in part]
    if stop and done < len(speeds_rpm):
        raise CycleError(f"stopped after {done} of {len(speeds_rpm)} speeds, as asked")
    return found


def batch(
    engines: Sequence[Engine],
    speeds_rpm: Sequence[float],
    settings: Settings | None = None,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> list[list[CycleResult | CycleError]]:
    """Power curves of many engines, one thread each; a point that fails is returned as its error.

    Returns a list per engine with one entry per speed. progress as in `power_curve`, counted in engines.
    """
    settings = settings or Settings()

    def curve(engine: Engine) -> list[CycleResult | CycleError]:
        row: list[CycleResult | CycleError] = []
        before: Running | None = None
        for speed in speeds_rpm:
            try:
                here = Running(engine, speed, settings)
                if before is not None:
                    here.start_from(before)
                row.append(run(here))
                before = here
            except CycleError as error:
                row.append(error)
        return row

    done: list[list[CycleResult | CycleError]] = []
    with ThreadPoolExecutor(threads) as pool:
        for row in pool.map(curve, engines):
            done.append(row)
            if progress is not None and progress(len(done), len(engines)):
                pool.shutdown(cancel_futures=True)
                raise CycleError(f"stopped after {len(done)} of {len(engines)} engines, as asked")
    return done
