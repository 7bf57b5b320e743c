"""One engine at one speed, turned until it repeats.

A run either ends at a state whose estimated distance to the true periodic state is below the tolerance, or raises
CycleError with the numbers; it never returns a result that merely looks finished.
"""

import math
from collections import deque
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, field, replace
from typing import cast

import numpy as np

from scribeline.cycle import turning as tn
from scribeline.cycle.engine import LONGEST_CELL_M, Conditions, Engine, Knobs, Tables, tables_of
from scribeline.cycle.layout import aligned
from scribeline.errors import CycleError
from scribeline.kernels.duct import INV_DX, INV_VOL, RHO, P, T
from scribeline.kernels.gas import FloatArray, temperature_mixture
from scribeline.kernels.network import OUT_OF_STEPS, UNPHYSICAL
from scribeline.models.friction import friction_mep_pa
from scribeline.models.gas_properties import vapour_kg_per_kg
from scribeline.models.knock import octane_needed

TRACE_BINS = 720
LOOK_BACK = 4
# What the pipe's gas can still change, of what it would if the trend went on until the last of it has left: gas near
# the port is felt more and leaves first. And how far the mean pressure is off, of how far the masses are out of
# balance. Found, not derived: docs/performance-cycle.md has the errors they leave.
FELT, BALANCE = 0.5, 0.7
UNEVEN_BLOCK = 12
LITTLE_UNEVEN = 0.01  # spread of the work up to which two blocks are enough to compare
LEAST_FOR_BLOCKS = 48  # where the work is spread wider
# Patient runs: blocks of revolutions whose means show what changes slowly, how many blocks such a change is taken to go
# on for where it does not fade, and when an engine that runs unevenly is taken to do so for ever. Judgement; the errors
# that are left are in docs/performance-cycle.md.
SLOW_BLOCK, LEAST_PATIENT, LASTING_BLOCKS = 4, 16, 25
UNEVEN_FOR_EVER = 100
# States that repeat every so many revolutions are looked for, and take a revolution to be the same again up to this
# part of the tolerance. Judgement.
LONGEST_PERIOD, REPEATED = 8, 1.0
LONG = 15  # revolutions after which one look is not enough, as a state may pass that does not hold; judgement
FLUSHED = 2.0  # times the tolerance: distance at which a run with longer cells has done its work
MOST_FLUSHED = 24


@dataclass(frozen=True)
class Settings:
    """How finely and how long.

    cell_m : cell length [m], of which the hot exhaust has 1.2 times and the other ducts 0.8 times, see
        models.cell_length; tolerance : estimated distance to the periodic state [-]
    flush : cells this many times as long, [-], for the revolutions in which the old gas leaves the pipe; 1 for none
    patient : turn on until what changes slowly has changed as well, and for UNEVEN_FOR_EVER revolutions before an
        engine is taken to run unevenly; without it a run costs two thirds, and one in a hundred ends 0.6 to 4 % off
    """

    cell_m: float = 0.010
    tolerance: float = 0.005
    most_cycles: int = 200
    least_cycles: int = 6
    flush: float = 2.0
    patient: bool = True
    most_steps: int = 200_000
    air: Conditions = field(default_factory=Conditions)
    knobs: Knobs = field(default_factory=Knobs)


# Ranks variants as the default does unless they lie within about 1 %; docs/performance-cycle.md has the comparison, and
# docs/performance.md why 2 %: an end at 1 % takes a quarter more time and brings no better order.
FOR_SEARCHES = Settings(cell_m=0.020, tolerance=0.020, flush=1.0, most_cycles=100, patient=False)


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
    """Revolutions with cells of the length asked for."""
    averaged: int
    """Revolutions whose mean the figures are: 1 where all are alike, 2 to 8 where every second to eighth is, 12 or more
    where none."""
    unevenness: float
    """Spread of the work of those revolutions, largest less smallest over the mean [-]."""
    distance: float
    """Estimated relative distance to the periodic state when the run ended."""
    mass_imbalance: float
    """(intake - exhaust) over intake of the last revolutions, four at least, as it is judged."""
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
    flushed: int = 0
    """Revolutions with longer cells before those of `cycles`."""


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
    worst = 0.0
    for a, b, c, d in zip(*history[-LOOK_BACK:].tolist(), strict=True):  # plain numbers: this is asked all the time
        mean = 0.25 * (a + b + c + d)
        trend = 0.1 * (3.0 * (d - a) + c - b)  # of the straight line that fits best
        over, under = a - mean + 1.5 * trend, d - mean - 1.5 * trend
        strays = max(abs(over), abs(b - mean + 0.5 * trend), abs(c - mean - 0.5 * trend), abs(under))
        distance = (abs(trend) * renewal + strays) / abs(mean) if mean else math.inf
        if math.isnan(distance):
            return distance
        worst = max(worst, distance)
    return worst


def slow_change(history: FloatArray, block: int = SLOW_BLOCK) -> float:
    """Estimate what is still to come of a slow change, relative, worst quantity, from the means of three blocks.

    history : shape (revolutions, quantities). There are modes of an engine that fade by a fortieth a revolution; their
    trend over four revolutions is too small to be noticed. Of a change d1 from the first block of revolutions to the
    second, and d2 to the third, d2 r / (1 - r) is still to come with r = d2 / d1 (a geometric series), or
    LASTING_BLOCKS times d2 where that is less or it grows; nothing where it turns back. Infinite for too few.

    >>> fading = 1.0 + 0.02 * 0.97 ** np.arange(12.0).reshape(-1, 1)
    >>> still = fading[-4:].mean() - 1.0
    >>> bool(abs(slow_change(fading) / still - 1.0) < 0.02)
    True
    """
    if len(history) < 3 * block:
        return math.inf
    worst = 0.0
    for a, b, c in zip(*history[-3 * block :].reshape(3, block, -1).mean(axis=1).tolist(), strict=True):
        before, now = b - a, c - b
        if now == 0.0 or now * before < 0.0:
            continue  # it rests or turns back
        blocks = LASTING_BLOCKS if abs(now) >= abs(before) else min(now / (before - now), LASTING_BLOCKS)
        worst = max(worst, abs(now * blocks / c) if c else math.inf)
    return worst


class Running:
    """An engine turning: holds the tables and turns them one revolution at a time."""

    def __init__(self, engine: Engine, speed_rpm: float, settings: Settings, like: "Running | None" = None) -> None:
        """Check and lay out an engine for a cold start; from `like`, which may be the same one, with less work."""
        self.engine, self.speed_rpm, self.settings = engine, speed_rpm, settings
        known = (like.engine, like.tables) if like is not None and like.settings is settings else None
        self.tables: Tables = tables_of(engine, speed_rpm, settings.cell_m, settings.air, settings.knobs, known)
        self.flows = np.zeros((3, len(self.tables.network.ends)))
        self.totals = self.tables.numbers  # and whatever else is not of a cell
        most_kept = max(2 * settings.most_cycles // 3, LOOK_BACK * LONGEST_PERIOD)
        self.recent: deque[tuple[FloatArray, FloatArray]] = deque(maxlen=most_kept)
        self.trace = np.zeros((tn.TRACES, TRACE_BINS))
        cells, ends = (x.shape[-1] for x in (self.tables.network.q, self.flows))
        self.coarse: Running | None = None
        self.flushed = 0
        self.room = aligned(13, cells), np.ones((4, ends)), np.zeros(1, np.int64)

    def turn(self) -> None:
        """One revolution, exhaust closing to exhaust closing; raises CycleError where it cannot be finished."""
        t, n = self.tables, self.tables.network
        status = tn.turn(
            n.q, n.w, n.geo, n.gas, n.ends, n.steps, n.ratios, t.port_of_end, t.ways, t.end_data, t.ports, t.numbers,
            t.numbers[tn.STATES : tn.INFLOW].reshape(6, -1), t.numbers[tn.INFLOW : tn.SIZES].reshape(3, -1), self.flows,
            self.trace, t.pipe, *self.room, n.sizes.size, self.settings.most_steps,
        )  # fmt: skip
        self.turned(status)

    def turned(self, status: int) -> None:
        """Keep what a revolution came to; raises CycleError where it was not finished or left physical bounds."""
        if status == UNPHYSICAL:
            raise CycleError(f"{self.speed_rpm:g} rpm: left physical bounds: {self.unphysical()}; try smaller cells")
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

    def unphysical(self) -> str:
        """Where density and pressure are no positive numbers, and what they are instead."""
        t, net = self.totals, self.tables.network
        ducts = ["exhaust", *(f"transfer {i + 1}" for i in range(len(self.engine.transfers))), "intake"]
        ducts += [name for name in ("airbox", "silencer") if getattr(self.engine, name) is not None]
        for name, here in zip(ducts, net.spans, strict=True):
            rho, p = net.q[RHO, here], net.w[P, here]
            bad = np.flatnonzero(~((rho > 0.0) & (p > 0.0)))
            if bad.size:
                mm = 1e3 * (bad[0] + 0.5) / net.geo[INV_DX, here][bad[0]]
                state = f"{rho[bad[0]]:.4g} kg/m3 and {p[bad[0]]:.4g} Pa"
                return (
                    f"{state} in the {name} duct, {mm:.0f} mm from the engine, at {math.degrees(t[tn.THETA]):.1f} deg"
                )
        return f"{t[tn.P_CYL]:.4g} Pa in the cylinder, {t[tn.P_CRANK]:.4g} Pa in the crankcase"

    def start_from(self, other: "Running") -> None:
        """Take over the gas of the same engine at a neighbouring speed."""
        mine, theirs = self.tables, other.tables
        for name in ("q", "w", "volumes"):
            getattr(mine.network, name)[:] = getattr(theirs.network, name)
        mine.numbers[: tn.INTO_CYLINDER] = theirs.numbers[: tn.INTO_CYLINDER]

    def flush(self, before: "Running | None") -> Iterator["Running"]:
        """Yield the engine with longer cells, to be turned, until that state is nearly periodic, and take over its gas.

        before : the same engine at a neighbouring speed, run already. Old gas needs ten to twenty revolutions to leave
        the pipe whatever the cells; revolutions with cells twice as long cost a third.
        """
        s = self.settings
        longer = replace(s, cell_m=s.flush * s.cell_m, flush=1.0)
        last = before.coarse if before is not None else None
        coarse = self.coarse = Running(self.engine, self.speed_rpm, last.settings if last else longer, like=last)
        if last is not None:
            coarse.start_from(last)
        history: list[FloatArray] = []
        for _ in range(MOST_FLUSHED):
            yield coarse
            history.append(coarse.monitored())
            recent = np.array(history[-LOOK_BACK:])
            if len(history) >= s.least_cycles and coarse.distance(recent) < FLUSHED * s.tolerance:
                break
        self.flushed = len(history)
        self.start_like(coarse)

    def start_like(self, other: "Running") -> None:
        """Take over the gas of an engine whose ducts may be of other lengths; nothing where their number differs."""
        mine, theirs = self.tables, other.tables
        if [len(mine.network.spans), mine.network.sizes.size] != [len(theirs.network.spans), theirs.network.sizes.size]:
            return
        for here, there in zip(mine.network.spans, theirs.network.spans, strict=True):
            x, x_there = middles(here), middles(there)
            for own, known in ((mine.network.q, theirs.network.q), (mine.network.w, theirs.network.w)):
                for row, row_there in zip(own, known, strict=True):
                    row[here] = np.interp(x, x_there, row_there[there])
        mine.network.volumes[:] = theirs.network.volumes
        mine.numbers[: tn.CARRIED] = theirs.numbers[: tn.CARRIED]

    def distance(self, history: FloatArray) -> float:
        """Estimated distance to the periodic state, of what is monitored and of what is stored or given back [-].

        The latter is a distance that no trend can hide.
        """
        return max(distance_to_limit(history, FELT * self.renewal()), BALANCE * abs(self.mass_imbalance(LOOK_BACK)))

    def distance_of_periods(self, history: FloatArray, period: int) -> float:
        """As `distance`, of an engine that repeats itself every so many revolutions; infinite where it does not yet."""
        last = history[-LOOK_BACK * period :]
        changed = np.abs(last[2 * period :] - last[period:-period])
        if (changed > REPEATED * self.settings.tolerance * np.abs(last[2 * period :])).any():
            return math.inf
        trend = distance_to_limit(last.reshape(LOOK_BACK, period, -1).mean(axis=1), FELT * self.renewal() / period)
        return max(trend, BALANCE * abs(self.mass_imbalance(LOOK_BACK * period)))

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
        return float(mass / max(self.passed(LOOK_BACK)[1], 0.01 * mass))

    def mean(self, revolutions: int) -> tuple[FloatArray, FloatArray]:
        """Totals and flows, averaged over the last revolutions, as many as are kept."""
        last = list(self.recent)[-revolutions:]
        return np.mean([t for t, _ in last], axis=0), np.mean([f for _, f in last], axis=0)

    def passed(self, revolutions: int) -> tuple[float, float]:
        """Mass through the intake's mouth and the exhaust's end, mean of the last revolutions [kg]."""
        last, mouth = list(self.recent)[-revolutions:], self.tables.intake_end + 1
        return -sum(f[0, mouth] for _, f in last) / len(last), sum(f[0, 1] for _, f in last) / len(last)

    def mass_imbalance(self, revolutions: int = 1) -> float:
        """What the intake let in less what the exhaust let out in the last revolutions, over the former [-]."""
        into, out = self.passed(revolutions)
        return float((into - out) / into)

    def result(self, history: FloatArray, distance: float, averaged: int) -> CycleResult:
        """What a builder wants to know of the mean of the last revolutions."""
        e = self.engine
        t, flows = self.mean(averaged)
        tables, gas = self.tables, self.tables.network.gas
        swept = e.cylinder.swept_m3
        imep = (t[tn.WORK_J] + t[tn.CASE_WORK_J]) / swept
        bmep = imep - friction_mep_pa(e.cylinder.travel_m, self.speed_rpm, self.settings.knobs.friction)
        torque = bmep * swept / (2.0 * math.pi)
        power = torque * self.speed_rpm * 2.0 * math.pi / 60.0
        mouth, tail = tables.intake_end + 1, 1
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
            flushed=self.flushed,
            averaged=averaged,
            unevenness=float(np.ptp(history[-averaged:, 0]) / abs(t[tn.WORK_J])),
            distance=distance,
            mass_imbalance=self.mass_imbalance(max(averaged, LOOK_BACK)),
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


def middles(cells: slice) -> FloatArray:
    """Middle of each cell of a duct, over the length of the duct [-]."""
    count = cells.stop - cells.start
    return (np.arange(count) + 0.5) / count


def run(
    running: Running, before: Running | None = None, progress: Callable[[int, int], bool | None] | None = None
) -> CycleResult:
    """Turn until the estimated distance to the periodic state is below the tolerance; see `settle` and `simulate`."""
    work = settle(running, before)
    turned, most = 0, running.settings.most_cycles + MOST_FLUSHED
    try:
        while True:
            next(work).turn()
            turned += 1
            if progress is not None and progress(turned, most):
                raise CycleError(f"{running.speed_rpm:g} rpm: stopped after {turned} revolutions, as asked")
    except StopIteration as end:
        return cast(CycleResult, end.value)


def settle(
    running: Running, before: Running | None = None, *, flushed: bool = False
) -> Generator[Running, None, CycleResult]:
    """Yield what is to be turned once, again and again, until the estimated distance to the periodic state is below the
    tolerance; then return the result.

    An engine may settle to a state that repeats only every second revolution, or every third up to LONGEST_PERIOD, or
    run unevenly for ever. So means of so many are judged as well, and the means of two blocks of UNEVEN_BLOCK
    revolutions, or of a third of all where the work differs by more than LITTLE_UNEVEN (then both together are the
    result); it says how many revolutions it is the mean of and how much they differ. With `Settings.patient` what
    changes slowly must have changed too, and blocks are asked for late: there are engines that repeat themselves only
    after a hundred uneven revolutions, and creep looks even.
    before : the same engine at a neighbouring speed, run already, to start from its gas
    flushed : longer cells have been turned already
    """
    s = running.settings
    if flushed:
        pass
    elif s.flush > 1.0 and s.flush * s.cell_m <= LONGEST_CELL_M:
        yield from running.flush(before)
    elif before is not None:
        running.start_from(before)
    every = np.zeros((s.most_cycles, 4))
    distance, slow = math.inf, 0.0
    least = max(s.least_cycles, LEAST_PATIENT) if s.patient else s.least_cycles
    for cycle in range(1, s.most_cycles + 1):
        yield running
        every[cycle - 1] = running.monitored()
        if cycle < least:
            continue
        history = every[:cycle]
        before_that, distance = distance, running.distance(history)
        slow = slow_change(history) if s.patient else 0.0
        if max(distance, slow) < s.tolerance and (cycle < LONG or before_that < s.tolerance):
            return running.result(history.copy(), max(distance, slow), 1)
        for period in range(2, min((cycle - 2) // LOOK_BACK, LONGEST_PERIOD) + 1):
            of_periods = running.distance_of_periods(history, period)
            if of_periods < 0.5 * s.tolerance:
                slow = slow_change(history, period * -(-SLOW_BLOCK // period)) if s.patient else 0.0
                if slow < s.tolerance:
                    return running.result(history.copy(), max(of_periods, slow), period)
        if cycle >= (UNEVEN_FOR_EVER if s.patient else 2 * UNEVEN_BLOCK):
            even = np.ptp(history[-2 * UNEVEN_BLOCK :, 0]) < LITTLE_UNEVEN * abs(history[-1, 0])
            block = UNEVEN_BLOCK if even else max(cycle // 3, UNEVEN_BLOCK)  # the wilder, the longer the means
            if even or cycle >= LEAST_FOR_BLOCKS:
                early, late = history[-2 * block :].reshape(2, block, 4).mean(axis=1)
                of_blocks = max(float(np.abs(late / early - 1.0).max()), abs(running.mass_imbalance(block)))
                if of_blocks < (0.5 if even else 1.0) * s.tolerance:
                    return running.result(history.copy(), of_blocks, block if even else 2 * block)
    spread = np.ptp(every[-UNEVEN_BLOCK:, 0]) / abs(every[-1, 0])
    raise CycleError(
        f"{running.speed_rpm:g} rpm: after {s.most_cycles} revolutions still an estimated "
        f"{100 * max(distance, slow):.2g} % "
        f"from the periodic state (asked {100 * s.tolerance:.2g} %), and the work of the last twelve differs by "
        f"{100 * spread:.2g} %; allow more revolutions or a larger tolerance, or take it that this engine runs unevenly"
    )


def simulate(
    engine: Engine,
    speed_rpm: float,
    settings: Settings | None = None,
    progress: Callable[[int, int], bool | None] | None = None,
) -> CycleResult:
    """Simulate one engine at one speed until it repeats.

    speed_rpm : 500 to 30000. progress : called with revolutions turned and the most that may be; returning True stops.
    Raises CycleError for an engine that cannot be simulated, a run that does not converge, and when stopped.
    """
    return run(Running(engine, speed_rpm, settings or Settings()), progress=progress)
