"""The compiled time loop: one engine turned through a number of crank revolutions.

Everything the loop needs comes in tables, work arrays included; it allocates nothing, so one thread of a graphics
processor can run it as it stands. A step is as long as the waves allow (CFL) and never longer than MOST_STEP_RAD of
crank angle. Within a step everything is taken at its middle: ducts, volumes (extrapolated with the flows of the step
before), port openings, gas state for heat loss; the work of the pistons is exact.
"""

import math

from numba import njit

from scribeline.kernels.boundaries import nozzle_flow
from scribeline.kernels.crank import depth_at, true_stroke_at
from scribeline.kernels.duct import advance, decode, fastest, unphysical_cells
from scribeline.kernels.gas import (
    FloatArray,
    cv_mixture,
    energy_mixture,
    enthalpy_mixture,
    gamma_of,
    gas_constant,
)
from scribeline.kernels.network import FINE, MEETS, OUT_OF_STEPS, UNPHYSICAL, IntArray, fluxes
from scribeline.kernels.volumes import change_volume, reed_step, state_of_volume
from scribeline.models.annand import heat_coefficient_w_m2k
from scribeline.models.knock import PA_PER_ATM, delay_ms
from scribeline.models.scavenging import leaving
from scribeline.models.wiebe import burned_fraction, duration_deg

# volumes; rigid ones (airbox, silencer chamber) follow from RIGID on
INTAKE_AIR, EXHAUST_AIR, CYLINDER, CRANKCASE, CYLINDER_AT_EXHAUST, RIGID = 0, 1, 2, 3, 4, 5
# how far an end is open: a fixed part, a port table, the reed
FIXED, REED = -1, -2
# another way that opens while the first is shut (the exhaust under the skirt): columns of a table of ends
FIRST, SECOND, SECOND_PORT = 0, 1, 2
NONE = -1
MOST_STEP_RAD = 0.02
CFL = 0.9  # with 0.8 mean pressures differ by 0.03 % at most, with 1 nothing is left for shocks that grow in a step

# entries of the engine vector
(
    SPEED_RAD_S, BORE_M, STROKE_M, ROD_M, OFFSET_M, CLEARANCE_M3, CASE_AT_TDC_M3, PISTON_M2, OPENS_RAD, CLOSES_RAD,
    SPARK_DEG, BURN_BASE_DEG, WIEBE_A, WIEBE_M, HEAT_J_KG, WALL_K, ANNAND_A, MIXING, OCTANE, REED_KG, REED_N_M,
    REED_DAMPING, REED_REBOUND, REED_STOP_M, REED_FORCE_M2, REED_FLOW_M, REED_MOST_M2, SCAVENGE_K0, SCAVENGE_K1,
    SCAVENGE_K2, BLOW_BY_M2,
) = range(31)  # fmt: skip
ENGINE = 31

# entries of the totals of one revolution
(
    WORK_J, CASE_WORK_J, HEAT_J, LOST_J, TRAPPED_KG, TRAPPED_FRESH_KG, PEAK_PA, PEAK_RAD, KNOCK, STEPS, UNSOLVED,
    CASE_KG, PIPE_J, RESIDUAL, GAINED_J,
) = range(15)  # fmt: skip
TOTALS = 15
# rows of the trace: (rows, bins over one revolution from top dead centre)
TRACE_CYLINDER_PA, TRACE_CYLINDER_K, TRACE_FRESH, TRACE_CASE_PA, TRACE_LIFT_M = 0, 1, 2, 3, 4
TRACES = 5
# A recording is a trace with more rows: crank angle, case temperature and fresh fraction, then four for each duct end
# (mass flow out of the duct [kg/s], and pressure, temperature and fresh fraction of its cell), then the pressure in
# each cell of the exhaust pipe.
ANGLE_RAD, CASE_K, CASE_FRESH, ENDS = 5, 6, 7, 8
ROWS_OF_END = 4


@njit(cache=True, error_model="numpy")
def table_at(table: FloatArray, row: int, theta: float) -> float:
    """Linear interpolation in one row of a table over one revolution; theta in 0..2 pi, last column equals first."""
    x = theta * ((table.shape[1] - 1) / (2.0 * math.pi))
    i = min(int(x), table.shape[1] - 2)
    return table[row, i] + (x - i) * (table[row, i + 1] - table[row, i])


@njit(cache=True, error_model="numpy")
def keep(states: FloatArray, v: int, state: tuple[float, float, float, float, float, float]) -> None:
    """Write the state of a volume into its column."""
    for i in range(6):
        states[i, v] = state[i]


@njit(cache=True, error_model="numpy")
def blow_by(states: FloatArray, inflow: FloatArray, area_m2: float) -> None:
    """Add what leaks past the rings, through a nozzle of an effective area, from cylinder to crankcase or back."""
    drop = states[0, CYLINDER] - states[0, CRANKCASE]
    source, sign = (CYLINDER, 1.0) if drop > 0.0 else (CRANKCASE, -1.0)
    p, t, y, gamma, r, h = (
        states[0, source], states[1, source], states[2, source], states[3, source], states[4, source],
        states[5, source],
    )  # fmt: skip
    flow = sign * area_m2 * nozzle_flow(p, t, abs(drop), gamma, r)
    inflow[0, CRANKCASE] += flow
    inflow[1, CRANKCASE] += flow * h
    inflow[2, CRANKCASE] += flow * y
    inflow[0, CYLINDER] -= flow
    inflow[1, CYLINDER] -= flow * h
    inflow[2, CYLINDER] -= flow * y


@njit(cache=True, error_model="numpy")
def note(
    trace: FloatArray,
    here: int,
    theta: float,
    case_k: float,
    case_fresh: float,
    w: FloatArray,
    flux: FloatArray,
    ends: IntArray,
    end_data: FloatArray,
    pipe: IntArray,
) -> None:
    """Write the further rows of a recording for one moment: what crossed the ends in the step that ended there."""
    trace[ANGLE_RAD, here], trace[CASE_K, here], trace[CASE_FRESH, here] = theta, case_k, case_fresh
    row = ENDS
    for e in range(ends.shape[0]):
        k, sign = ends[e, 0], -1.0 if ends[e, 1] > 0 else 1.0
        trace[row, here] = sign * end_data[2, e] * flux[0, ends[e, 3]]
        trace[row + 1, here], trace[row + 2, here], trace[row + 3, here] = w[1, k], w[2, k], w[3, k]
        row += ROWS_OF_END
    for k in range(pipe[0], pipe[1]):
        trace[row, here] = w[1, k]
        row += 1


@njit(cache=True, error_model="numpy", nogil=True)
def turn(
    q: FloatArray,
    w: FloatArray,
    geo: FloatArray,
    gas: FloatArray,
    ends: IntArray,
    steps: IntArray,
    ratios: FloatArray,
    volumes: FloatArray,
    sizes: FloatArray,
    port_of_end: IntArray,
    ways: IntArray,
    end_data: FloatArray,
    ports: FloatArray,
    engine: FloatArray,
    memory: FloatArray,
    flows: FloatArray,
    totals: FloatArray,
    trace: FloatArray,
    pipe: IntArray,
    of_cells: FloatArray,
    of_ends: FloatArray,
    of_volumes: FloatArray,
    unsolved: IntArray,
    most_steps: int,
) -> int:
    """Turn the engine once, from exhaust closing to exhaust closing.

    volumes : (4, RIGID or more), see volumes.py; CYLINDER_AT_EXHAUST, the cylinder as the exhaust port sees it, holds
        nothing; sizes : of the rigid ones from RIGID on [m^3]
    port_of_end : (ends,), FIXED, REED or the row of `ports`; end_data : (3, ends), discharge coefficient for flow
        out of the duct and into it, and duct area at the end [m^2]
    ways : (ends, 3), the volume an end meets through its port, and another volume with the row of the port that leads
        to it (whichever is open further is met), or NONE
    ports : (ports, columns), open area over one revolution [m^2]
    memory : (8,), carried from one revolution to the next: reed lift and speed, and the flows of the last step into
        cylinder and crankcase (mass, energy, fresh mass of each)
    flows : (3, ends), filled with mass, energy and fresh mass that left each duct end in the revolution
    totals : (TOTALS,), trace : (TRACES, bins) or the rows of a recording, filled
    pipe : first and last + 1 cell of the exhaust pipe
    of_cells : (13, cells), of_volumes : (9, volumes), unsolved : (1,), room to work in, anything in it
    of_ends : (4, ends), room to work in; the last two rows, hints for the ends' pressures, are carried on; 1 at first
    Returns FINE, OUT_OF_STEPS or UNPHYSICAL.
    """
    n, count = q.shape[1], ends.shape[0]
    slope, mid, flux, dt_of = of_cells[0:4], of_cells[4:8], of_cells[8:12], of_cells[12]
    opening, hints = of_ends[0:2], of_ends[2:4]
    states, inflow = of_volumes[0:6], of_volumes[6:9]
    for k in range(n):
        for r in range(4):
            slope[r, k], mid[r, k], flux[r, k] = 0.0, 1.0, 0.0
    for i in range(TOTALS):
        totals[i] = 0.0
    for e in range(count):
        flows[0, e], flows[1, e], flows[2, e] = 0.0, 0.0, 0.0
    for v in range(volumes.shape[1]):
        inflow[0, v], inflow[1, v], inflow[2, v] = 0.0, 0.0, 0.0
    unsolved[0] = 0
    turn_rad = 2.0 * math.pi
    omega, area = engine[SPEED_RAD_S], engine[PISTON_M2]
    stroke, rod, offset = engine[STROKE_M], engine[ROD_M], engine[OFFSET_M]
    speed_rpm = omega * 60.0 / turn_rad
    piston_m_s = true_stroke_at(stroke, rod, offset) * omega / math.pi
    theta = engine[CLOSES_RAD] - turn_rad  # negative on the way up to the burn
    end = engine[CLOSES_RAD]
    x = depth_at(theta, stroke, rod, offset)
    v_cyl, v_case = engine[CLEARANCE_M3] + area * x, engine[CASE_AT_TDC_M3] - area * x
    cyl, case = CYLINDER, CRANKCASE
    for v in range(2):  # the air outside does not change
        keep(states, v, state_of_volume(gas, volumes[0, v], volumes[1, v], volumes[2, v], volumes[3, v], 1.0))
    p, t, y, _, _, _ = state_of_volume(gas, volumes[0, cyl], volumes[1, cyl], volumes[2, cyl], volumes[3, cyl], v_cyl)
    p_case, t_case, _, _, _, _ = state_of_volume(
        gas, volumes[0, case], volumes[1, case], volumes[2, case], volumes[3, case], v_case
    )
    fresh_0, t_unburned = volumes[2, cyl], t
    totals[TRAPPED_KG], totals[TRAPPED_FRESH_KG], totals[RESIDUAL] = volumes[0, cyl], fresh_0, 1.0 - y
    totals[CASE_KG] = volumes[0, case]
    burn_deg = duration_deg(engine[BURN_BASE_DEG], speed_rpm, 1.0 - y)
    # burning turns fresh into burned gas; heat is counted at 298.15 K
    gained = engine[HEAT_J_KG] + energy_mixture(gas, 298.15, 0.0) - energy_mixture(gas, 298.15, 1.0)
    burned = 0.0
    lift, lift_speed = memory[0], memory[1]
    for r in range(3):
        inflow[r, cyl], inflow[r, case] = memory[2 + r], memory[5 + r]
    bins = trace.shape[1]
    last_bin = -1
    for step in range(most_steps):
        decode(q, w, gas)
        if unphysical_cells(q, w) > 0 or not p > 0.0 or not p_case > 0.0:
            return UNPHYSICAL
        dt = min(CFL / fastest(w, geo, 0, 1), MOST_STEP_RAD / omega)
        last = theta + omega * dt >= end - 1e-9
        if last:
            dt = (end - theta) / omega
        theta_1 = theta + omega * dt
        theta_m = theta + 0.5 * omega * dt
        for k in range(n):
            dt_of[k] = dt
        # volumes at mid-step
        x_m = depth_at(theta_m, stroke, rod, offset)
        x = depth_at(theta_1, stroke, rod, offset)
        vm_cyl, vm_case = engine[CLEARANCE_M3] + area * x_m, engine[CASE_AT_TDC_M3] - area * x_m
        half = 0.5 * dt
        c_m = volumes[0, cyl] + half * inflow[0, cyl]
        c_e = volumes[1, cyl] + half * inflow[1, cyl] - p * (vm_cyl - v_cyl)
        c_f = volumes[2, cyl] + half * inflow[2, cyl]
        state = state_of_volume(gas, c_m, c_e, c_f, t, vm_cyl)
        keep(states, cyl, state)
        t_m, y_m = state[1], state[2]
        y_out = leaving(y_m, engine[MIXING], engine[SCAVENGE_K0], engine[SCAVENGE_K1], engine[SCAVENGE_K2])
        states[0, CYLINDER_AT_EXHAUST], states[1, CYLINDER_AT_EXHAUST] = state[0], t_m
        states[2, CYLINDER_AT_EXHAUST] = y_out
        states[3, CYLINDER_AT_EXHAUST] = gamma_of(gas, t_m, y_out)
        states[4, CYLINDER_AT_EXHAUST] = gas_constant(gas, y_out)
        states[5, CYLINDER_AT_EXHAUST] = enthalpy_mixture(gas, t_m, y_out)
        case_m = volumes[0, case] + half * inflow[0, case]
        case_e = volumes[1, case] + half * inflow[1, case] - p_case * (vm_case - v_case)
        case_f = volumes[2, case] + half * inflow[2, case]
        keep(states, case, state_of_volume(gas, case_m, case_e, case_f, t_case, vm_case))
        for v in range(RIGID, volumes.shape[1]):
            m = volumes[0, v] + half * inflow[0, v]
            e_v, f_v = volumes[1, v] + half * inflow[1, v], volumes[2, v] + half * inflow[2, v]
            keep(states, v, state_of_volume(gas, m, e_v, f_v, volumes[3, v], sizes[v]))
        # openings at mid-step
        wrapped = theta_m if theta_m >= 0.0 else theta_m + turn_rad
        for e in range(count):
            which = port_of_end[e]
            if which == FIXED:
                share = 1.0
            elif which == REED:
                k = ends[e, 0]
                p_face = 1.5 * w[1, k] - 0.5 * w[1, k + ends[e, 1]]  # at the petal, not half a cell before it
                push = (p_face - states[0, case]) * engine[REED_FORCE_M2]
                lift_before = lift
                lift, lift_speed = reed_step(
                    lift, lift_speed, push, dt, engine[REED_KG], engine[REED_N_M], engine[REED_DAMPING],
                    engine[REED_STOP_M], engine[REED_REBOUND],
                )  # fmt: skip
                share = min(0.5 * (lift_before + lift) * engine[REED_FLOW_M], engine[REED_MOST_M2]) / end_data[2, e]
            else:
                share = table_at(ports, which, wrapped) / end_data[2, e]
                if ways[e, SECOND] != NONE:
                    other = table_at(ports, ways[e, SECOND_PORT], wrapped) / end_data[2, e]
                    ends[e, MEETS] = ways[e, SECOND] if other > share else ways[e, FIRST]
                    share = max(share, other)
            opening[0, e] = share * end_data[0, e]
            opening[1, e] = share * end_data[1, e]
        fluxes(q, w, geo, dt_of, slope, mid, flux, ends, steps, ratios, opening, hints, states, inflow, unsolved, 1)
        advance(q, w, geo, dt_of, mid, flux, 1)
        for e in range(count):
            f = ends[e, 3]
            per = dt * end_data[2, e] * (-1.0 if ends[e, 1] > 0 else 1.0)
            flows[0, e] += per * flux[0, f]
            flows[1, e] += per * flux[2, f]
            flows[2, e] += per * flux[3, f]
        for r in range(3):
            inflow[r, cyl] += inflow[r, CYLINDER_AT_EXHAUST]
        if engine[BLOW_BY_M2] > 0.0:
            blow_by(states, inflow, engine[BLOW_BY_M2])
        # heat to the walls at mid-step
        cp = cv_mixture(gas, t_m, y_m) + gas_constant(gas, y_m)
        h = heat_coefficient_w_m2k(engine[BORE_M], piston_m_s, c_m / vm_cyl, t_m, cp, engine[ANNAND_A])
        surface = 2.0 * area + math.pi * engine[BORE_M] * x_m
        lost = dt * h * surface * (t_m - engine[WALL_K])
        totals[LOST_J] += lost
        # the burn, between spark and exhaust opening
        heat = 0.0
        if theta_1 < engine[OPENS_RAD]:
            now = burned_fraction(math.degrees(theta_1), engine[SPARK_DEG], burn_deg, engine[WIEBE_A], engine[WIEBE_M])
            amount = min(fresh_0 * (now - burned), volumes[2, cyl])
            burned = now
            volumes[2, cyl] -= amount
            heat = amount * gained
            totals[HEAT_J] += amount * engine[HEAT_J_KG]
            totals[GAINED_J] += heat
        # everything to the end of the step
        p_last = p
        v1_cyl, v1_case = engine[CLEARANCE_M3] + area * x, engine[CASE_AT_TDC_M3] - area * x
        volumes[0, cyl] += dt * inflow[0, cyl]
        volumes[2, cyl] += dt * inflow[2, cyl]
        energy = volumes[1, cyl] + dt * inflow[1, cyl] + heat - lost
        volumes[1, cyl], work, p, t = change_volume(gas, volumes[0, cyl], energy, volumes[2, cyl], t, v_cyl, v1_cyl, p)
        totals[WORK_J] += work
        volumes[0, case] += dt * inflow[0, case]
        volumes[2, case] += dt * inflow[2, case]
        energy = volumes[1, case] + dt * inflow[1, case]
        volumes[1, case], work, p_case, t_case = change_volume(
            gas, volumes[0, case], energy, volumes[2, case], t_case, v_case, v1_case, p_case
        )
        totals[CASE_WORK_J] += work
        v_cyl, v_case = v1_cyl, v1_case
        for v in range(RIGID, volumes.shape[1]):
            for r in range(3):
                volumes[r, v] += dt * inflow[r, v]
            volumes[3, v] = states[1, v]
        if theta_1 < engine[OPENS_RAD]:
            if burned < 0.95:
                g = gamma_of(gas, t_unburned, 1.0)
                t_unburned *= (p / p_last) ** ((g - 1.0) / g)
                totals[KNOCK] += 1e3 * dt / delay_ms(engine[OCTANE], p / PA_PER_ATM, t_unburned)
            if p > totals[PEAK_PA]:
                totals[PEAK_PA], totals[PEAK_RAD] = p, theta_1
        theta = theta_1
        here = min(int((theta if theta >= 0.0 else theta + turn_rad) / turn_rad * bins), bins - 1)
        if here != last_bin:
            y = volumes[2, cyl] / volumes[0, cyl]
            trace[TRACE_CYLINDER_PA, here], trace[TRACE_CYLINDER_K, here], trace[TRACE_FRESH, here] = p, t, y
            trace[TRACE_CASE_PA, here], trace[TRACE_LIFT_M, here] = p_case, lift
            if trace.shape[0] > TRACES:
                note(trace, here, theta, t_case, volumes[2, case] / volumes[0, case], w, flux, ends, end_data, pipe)
            last_bin = here
        if last:
            totals[STEPS], totals[UNSOLVED] = step + 1, unsolved[0]
            for k in range(pipe[0], pipe[1]):
                totals[PIPE_J] += q[2, k] / geo[1, k]
            volumes[3, cyl], volumes[3, case] = t, t_case
            memory[0], memory[1] = lift, lift_speed
            for r in range(3):
                memory[2 + r], memory[5 + r] = inflow[r, cyl], inflow[r, case]
            return FINE
    return OUT_OF_STEPS
