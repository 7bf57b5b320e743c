"""One more revolution of an engine that has settled, written down step by step: flows, pressures, purity, waves.

The revolution is the simulation's own; nothing is computed a second time. What it shows is judged elsewhere
(`holding_back`) or drawn (`scribeline.marking`).
"""

import math
from dataclasses import dataclass

import numpy as np

from scribeline.cycle import turning as tn
from scribeline.cycle.simulate import Running
from scribeline.kernels.duct import INV_DX, INV_VOL
from scribeline.kernels.gas import FloatArray

BINS = 7200  # finer than any time step, so that none is passed over
COLUMNS = 720  # of the even grid on which a recording is handed out


@dataclass(frozen=True)
class Passage:
    """What goes through one opening, against crank angle; shape (COLUMNS,) each.

    flow_kg_s : the way the charge is meant to go: out of the cylinder (exhaust), into it (transfer), into the
        crankcase (intake); p_pa, t_k, fresh : the gas in the duct beside the opening; area_m2 : open area
    """

    name: str
    flow_kg_s: FloatArray
    p_pa: FloatArray
    t_k: FloatArray
    fresh: FloatArray
    area_m2: FloatArray


@dataclass(frozen=True)
class Recording:
    """One revolution. theta_rad : (COLUMNS,) crank angle after top dead centre, even steps from 0.

    pipe_pa : (COLUMNS, cells), pressure along the exhaust pipe; pipe_x_m, pipe_bore_m : (cells,), place of each cell
    from the bore and its diameter. opens_rad, closes_rad : exhaust; transfer_opens_rad, transfer_closes_rad : the
    first transfer to open and the last to close.
    """

    speed_rpm: float
    theta_rad: FloatArray
    cylinder_pa: FloatArray
    cylinder_k: FloatArray
    cylinder_fresh: FloatArray
    case_pa: FloatArray
    case_k: FloatArray
    case_fresh: FloatArray
    lift_m: FloatArray
    exhaust: Passage
    transfers: tuple[Passage, ...]
    intake: Passage
    pipe_pa: FloatArray
    pipe_x_m: FloatArray
    pipe_bore_m: FloatArray
    ambient_pa: float
    opens_rad: float
    closes_rad: float
    transfer_opens_rad: float
    transfer_closes_rad: float

    @property
    def step_s(self) -> float:
        """Time from column to column [s]."""
        return 60.0 / self.speed_rpm / len(self.theta_rad)

    def at(self, values: FloatArray, theta_rad: float) -> float:
        """A row of the recording at a crank angle after top dead centre."""
        return float(np.interp(theta_rad, self.theta_rad, values, period=2.0 * math.pi))

    def between(self, from_rad: float, to_rad: float) -> FloatArray:
        """Time [s] that each column stands for inside a stretch of crank angle, shape (COLUMNS,)."""
        width = 2.0 * math.pi / len(self.theta_rad)
        inside = np.zeros_like(self.theta_rad)
        for turn in (-2.0 * math.pi, 0.0, 2.0 * math.pi):
            low = np.maximum(self.theta_rad + turn - 0.5 * width, from_rad)
            high = np.minimum(self.theta_rad + turn + 0.5 * width, to_rad)
            inside += np.clip(high - low, 0.0, None)
        return np.asarray(inside / width * self.step_s)


def record(running: Running, names: tuple[str, ...] = ()) -> Recording:
    """Turn a settled engine once more and write that revolution down.

    names : of the transfers, in the engine's order; "transfer 1" and so on where left out
    """
    tables, net = running.tables, running.tables.network
    first, last = tables.pipe
    ends = len(net.ends)
    kept = running.trace
    running.trace = np.full((tn.ENDS + tn.ROWS_OF_END * ends + last - first, BINS), np.nan)
    try:
        running.turn()
        raw = running.trace
    finally:
        running.trace = kept
    raw = raw[:, np.isfinite(raw[tn.ANGLE_RAD])]
    angle = raw[tn.ANGLE_RAD] % (2.0 * math.pi)
    order = np.argsort(angle)
    raw, angle = raw[:, order], angle[order]
    # a step's flow is that of its middle
    middle = angle - 0.5 * (np.diff(angle, prepend=angle[-1] - 2.0 * math.pi))
    theta = np.arange(COLUMNS) * 2.0 * math.pi / COLUMNS

    starts = [t.area_m2 for t in running.engine.transfers]

    def even(row: FloatArray) -> FloatArray:
        return np.asarray(np.interp(theta, angle, row, period=2.0 * math.pi))

    engine = running.engine
    drawn = [engine.exhaust_area_m2, *[t.area_m2 for t in engine.transfers], engine.intake_area_m2]

    def passage(name: str, end: int, port: int | None, sign: float) -> Passage:
        at = tn.ENDS + tn.ROWS_OF_END * end
        flow = sign * np.interp(theta, middle, raw[at], period=2.0 * math.pi)
        table = drawn[-1 if port is None else port]
        area = np.interp(theta, np.linspace(0.0, 2.0 * math.pi, table.size), table)
        if port is None and running.engine.reed is not None:
            area = np.minimum(
                even(raw[tn.TRACE_LIFT_M]) * tables.numbers[tn.REED_FLOW_M], tables.numbers[tn.REED_MOST_M2]
            )
        return Passage(name, flow, even(raw[at + 1]), even(raw[at + 2]), even(raw[at + 3]), area)

    cells = slice(first, last)
    dx = 1.0 / net.geo[INV_DX, cells]
    opened = np.flatnonzero(np.max(starts, axis=0) > 0.0) * 2.0 * math.pi / (len(starts[0]) - 1)
    pipe_at = tn.ENDS + tn.ROWS_OF_END * ends
    return Recording(
        speed_rpm=running.speed_rpm,
        theta_rad=theta,
        cylinder_pa=even(raw[tn.TRACE_CYLINDER_PA]),
        cylinder_k=even(raw[tn.TRACE_CYLINDER_K]),
        cylinder_fresh=even(raw[tn.TRACE_FRESH]),
        case_pa=even(raw[tn.TRACE_CASE_PA]),
        case_k=even(raw[tn.CASE_K]),
        case_fresh=even(raw[tn.CASE_FRESH]),
        lift_m=even(raw[tn.TRACE_LIFT_M]),
        exhaust=passage("exhaust", 0, 0, -1.0),
        transfers=tuple(
            passage(names[i] if names else f"transfer {i + 1}", 2 * i + 3, 1 + i, 1.0) for i in range(len(starts))
        ),
        intake=passage("intake", tables.intake_end, None, 1.0),
        pipe_pa=np.array([even(row) for row in raw[pipe_at:]]).T,
        pipe_x_m=np.cumsum(dx) - 0.5 * dx,
        pipe_bore_m=np.sqrt(4.0 / math.pi / (net.geo[INV_VOL, cells] * dx)),
        ambient_pa=running.settings.air.p_pa,
        opens_rad=running.engine.exhaust_opens_rad,
        closes_rad=running.engine.closes_rad,
        transfer_opens_rad=float(opened[0]),
        transfer_closes_rad=float(opened[-1]),
    )
