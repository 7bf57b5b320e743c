"""The compiled time loop: one engine turned through a number of crank revolutions.

Everything the loop needs comes in tables, work arrays included; it allocates nothing, so one thread of a graphics
processor can run it as it stands. A step is as long as the waves allow (CFL) and never longer than MOST_STEP_RAD of
crank angle. Within a step everything is taken at its middle: ducts, volumes (extrapolated with the flows of the step
before), port openings, gas state for heat loss; the work of the pistons is exact.
"""

import math

from scribeline.kernels.boundaries import nozzle_flow
from scribeline.kernels.compiling import compiled
from scribeline.kernels.crank import depth_at, depth_of_half_at, true_stroke_at
from scribeline.kernels.duct import advance, decode, fastest, unphysical_cells
from scribeline.kernels.gas import (
    FloatArray,
    GasLaw,
    cv_mixture,
    energy_mixture,
    enthalpy_mixture,
    gamma_of,
    gas_constant,
    law_of,
)
from scribeline.kernels.network import (
    CELL,
    FACE,
    FINE,
    INWARD,
    MEETS,
    OUT_OF_STEPS,
    UNPHYSICAL,
    IntArray,
    fluxes,
)
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
MOST_STEP_RAD = 0.03  # reached with cells of 20 mm only; with 0.02 powers differ there by 0.02 % (median) to 1 %
CFL = 0.9  # with 0.8 mean pressures differ by 0.03 % at most, with 1 nothing is left for shocks that grow in a step

# One engine's numbers that are not of a cell stand in one vector, number i of engine b of s abreast at i * s + b.
# Carried from one revolution to the next: reed lift and speed, flows of the last step into cylinder and crankcase.
LIFT_M, LIFT_M_S, INTO_CYLINDER, INTO_CASE = 0, 1, 2, 5
CARRIED = 8
# where this revolution is: at the end of the last step, at the middle and the end of this one; heat of the burn
(
    THETA, SIN_HALF, COS_HALF, P_CYL, T_CYL, P_CRANK, T_CRANK, V_CYL, V_CRANK, FRESH_0, T_UNBURNED, BURN_DEG, BURNED,
    DT, LAST, X_MID, X, V_MID, M_MID, T_MID, Y_MID, LAST_BIN, PISTON_M_S, GAINED_J_KG, LOST, HEAT, P_LAST,
) = range(8, 35)  # fmt: skip
# the engine
(
    SPEED_RAD_S, BORE_M, STROKE_M, ROD_M, OFFSET_M, CLEARANCE_M3, CASE_AT_TDC_M3, PISTON_M2, OPENS_RAD, CLOSES_RAD,
    SPARK_DEG, BURN_BASE_DEG, WIEBE_A, WIEBE_M, HEAT_J_KG, WALL_K, ANNAND_A, MIXING, OCTANE, REED_KG, REED_N_M,
    REED_DAMPING, REED_REBOUND, REED_STOP_M, REED_FORCE_M2, REED_FLOW_M, REED_MOST_M2, SCAVENGE_K0, SCAVENGE_K1,
    SCAVENGE_K2, BLOW_BY_M2,
) = range(35, 66)  # fmt: skip
# totals of one revolution
(
    WORK_J, CASE_WORK_J, HEAT_J, LOST_J, TRAPPED_KG, TRAPPED_FRESH_KG, PEAK_PA, PEAK_RAD, KNOCK, STEPS, UNSOLVED,
    CASE_KG, PIPE_J, RESIDUAL, GAINED_J,
) = range(66, 81)  # fmt: skip
TOTALS = slice(66, 81)
# the volumes, MOST_VOLUMES numbers for each of: mass, energy, fresh mass, temperature; six of state; three of inflow;
# size
MOST_VOLUMES = 7
VOLUMES, STATES, INFLOW, SIZES = 81, 109, 151, 172
NUMBERS = 179
# rows of the trace: (rows, bins over one revolution from top dead centre)
TRACE_CYLINDER_PA, TRACE_CYLINDER_K, TRACE_FRESH, TRACE_CASE_PA, TRACE_LIFT_M = 0, 1, 2, 3, 4
TRACES = 5
# A recording is a trace with more rows: crank angle, case temperature and fresh fraction, then four for each duct end
# (mass flow out of the duct [kg/s], and pressure, temperature and fresh fraction of its cell), then the pressure in
# each cell of the exhaust pipe.
ANGLE_RAD, CASE_K, CASE_FRESH, ENDS = 5, 6, 7, 8
ROWS_OF_END = 4


@compiled(inline="always")
def at(table: int, row: int, volume: int) -> int:
    """Number, in an engine's vector, of a row of VOLUMES, STATES or INFLOW for one volume."""
    return table + row * MOST_VOLUMES + volume


@compiled(inline="always")
def volume_to_mid_step(law: GasLaw, z: FloatArray, v: int, work_j: float, size_m3: float, s: int, b: int) -> None:
    """Fill the state of a volume half a step on, with the flows of the step before and the work it has done by then."""
    half = 0.5 * z[DT * s + b]
    mass = z[at(VOLUMES, 0, v) * s + b] + half * z[at(INFLOW, 0, v) * s + b]
    energy = z[at(VOLUMES, 1, v) * s + b] + half * z[at(INFLOW, 1, v) * s + b] - work_j
    fresh = z[at(VOLUMES, 2, v) * s + b] + half * z[at(INFLOW, 2, v) * s + b]
    p, t, y, gamma, r, h = state_of_volume(law, mass, energy, fresh, z[at(VOLUMES, 3, v) * s + b], size_m3)
    z[at(STATES, 0, v) * s + b], z[at(STATES, 1, v) * s + b], z[at(STATES, 2, v) * s + b] = p, t, y
    z[at(STATES, 3, v) * s + b], z[at(STATES, 4, v) * s + b], z[at(STATES, 5, v) * s + b] = gamma, r, h


@compiled()
def blow_by(z: FloatArray, s: int, b: int) -> None:
    """Add what leaks past the rings, through a nozzle of an effective area, from cylinder to crankcase or back."""
    drop = z[at(STATES, 0, CYLINDER) * s + b] - z[at(STATES, 0, CRANKCASE) * s + b]
    source, sign = (CYLINDER, 1.0) if drop > 0.0 else (CRANKCASE, -1.0)
    p, t, y = z[at(STATES, 0, source) * s + b], z[at(STATES, 1, source) * s + b], z[at(STATES, 2, source) * s + b]
    gamma, r, h = z[at(STATES, 3, source) * s + b], z[at(STATES, 4, source) * s + b], z[at(STATES, 5, source) * s + b]
    flow = sign * z[BLOW_BY_M2 * s + b] * nozzle_flow(p, t, abs(drop), gamma, r)
    z[at(INFLOW, 0, CRANKCASE) * s + b] += flow
    z[at(INFLOW, 1, CRANKCASE) * s + b] += flow * h
    z[at(INFLOW, 2, CRANKCASE) * s + b] += flow * y
    z[at(INFLOW, 0, CYLINDER) * s + b] -= flow
    z[at(INFLOW, 1, CYLINDER) * s + b] -= flow * h
    z[at(INFLOW, 2, CYLINDER) * s + b] -= flow * y


@compiled()
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


@compiled()
def begin(law: GasLaw, z: FloatArray, flows: FloatArray, s: int, b: int) -> None:
    """Make ready for a revolution of engine b of s abreast, whose exhaust has just closed."""
    for i in range(WORK_J, GAINED_J + 1):
        z[i * s + b] = 0.0
    for i in range(flows.shape[1] // s):
        flows[0, i * s + b], flows[1, i * s + b], flows[2, i * s + b] = 0.0, 0.0, 0.0
    for i in range(INFLOW, INFLOW + 3 * MOST_VOLUMES):
        z[i * s + b] = 0.0
    stroke, rod, offset = z[STROKE_M * s + b], z[ROD_M * s + b], z[OFFSET_M * s + b]
    theta = z[CLOSES_RAD * s + b] - 2.0 * math.pi  # negative on the way up to the burn
    z[THETA * s + b], z[SIN_HALF * s + b], z[COS_HALF * s + b] = theta, math.sin(0.5 * theta), math.cos(0.5 * theta)
    x = depth_at(theta, stroke, rod, offset)
    v_cyl = z[CLEARANCE_M3 * s + b] + z[PISTON_M2 * s + b] * x
    v_case = z[CASE_AT_TDC_M3 * s + b] - z[PISTON_M2 * s + b] * x
    z[V_CYL * s + b], z[V_CRANK * s + b] = v_cyl, v_case
    z[DT * s + b] = 0.0
    for v in range(2):  # the air outside does not change
        volume_to_mid_step(law, z, v, 0.0, 1.0, s, b)
    volume_to_mid_step(law, z, CYLINDER, 0.0, v_cyl, s, b)
    volume_to_mid_step(law, z, CRANKCASE, 0.0, v_case, s, b)
    z[P_CYL * s + b], z[T_CYL * s + b] = z[at(STATES, 0, CYLINDER) * s + b], z[at(STATES, 1, CYLINDER) * s + b]
    z[P_CRANK * s + b], z[T_CRANK * s + b] = z[at(STATES, 0, CRANKCASE) * s + b], z[at(STATES, 1, CRANKCASE) * s + b]
    residual = 1.0 - z[at(STATES, 2, CYLINDER) * s + b]
    omega = z[SPEED_RAD_S * s + b]
    z[FRESH_0 * s + b], z[T_UNBURNED * s + b] = z[at(VOLUMES, 2, CYLINDER) * s + b], z[T_CYL * s + b]
    z[BURNED * s + b], z[LAST_BIN * s + b], z[LAST * s + b] = 0.0, -1.0, 0.0
    z[BURN_DEG * s + b] = duration_deg(z[BURN_BASE_DEG * s + b], omega * 30.0 / math.pi, residual)
    z[PISTON_M_S * s + b] = true_stroke_at(stroke, rod, offset) * omega / math.pi
    # burning turns fresh into burned gas; heat is counted at 298.15 K
    z[GAINED_J_KG * s + b] = z[HEAT_J_KG * s + b] + energy_mixture(law, 298.15, 0.0) - energy_mixture(law, 298.15, 1.0)
    z[TRAPPED_KG * s + b], z[TRAPPED_FRESH_KG * s + b] = z[at(VOLUMES, 0, CYLINDER) * s + b], z[FRESH_0 * s + b]
    z[RESIDUAL * s + b], z[CASE_KG * s + b] = residual, z[at(VOLUMES, 0, CRANKCASE) * s + b]
    for r in range(3):
        z[at(INFLOW, r, CYLINDER) * s + b] = z[(INTO_CYLINDER + r) * s + b]
        z[at(INFLOW, r, CRANKCASE) * s + b] = z[(INTO_CASE + r) * s + b]


@compiled(inline="always")
def choose_step(z: FloatArray, fastest_hz: float, s: int, b: int) -> None:
    """Set the length of the next step [s]: what the waves allow, and no further than the end of the revolution."""
    omega, theta, end = z[SPEED_RAD_S * s + b], z[THETA * s + b], z[CLOSES_RAD * s + b]
    dt = min(CFL / fastest_hz, MOST_STEP_RAD / omega)
    last = theta + omega * dt >= end - 1e-9
    z[DT * s + b] = (end - theta) / omega if last else dt
    z[LAST * s + b] = 1.0 if last else 0.0


@compiled(inline="always")
def volumes_to_mid_step(law: GasLaw, z: FloatArray, s: int, b: int) -> None:
    """Move the crank, and cylinder and crankcase half a step on with the flows of the step before.

    The crank turns by a small angle twice, which needs no sine; a revolution's rounding is 1e-13.
    """
    stroke, rod, offset = z[STROKE_M * s + b], z[ROD_M * s + b], z[OFFSET_M * s + b]
    omega, dt, area = z[SPEED_RAD_S * s + b], z[DT * s + b], z[PISTON_M2 * s + b]
    a = 0.25 * omega * dt  # of half the crank angle, in half a step: at most MOST_STEP_RAD / 4
    sin_a = a * (1.0 - a * a * (1.0 / 6.0 - a * a * (1.0 / 120.0 - a * a / 5040.0)))
    cos_a = 1.0 - a * a * (0.5 - a * a * (1.0 / 24.0 - a * a / 720.0))
    sin_0, cos_0 = z[SIN_HALF * s + b], z[COS_HALF * s + b]
    sin_m, cos_m = sin_0 * cos_a + cos_0 * sin_a, cos_0 * cos_a - sin_0 * sin_a
    sin_1, cos_1 = sin_m * cos_a + cos_m * sin_a, cos_m * cos_a - sin_m * sin_a
    x_m = depth_of_half_at(sin_m, cos_m, stroke, rod, offset)
    z[X_MID * s + b], z[X * s + b] = x_m, depth_of_half_at(sin_1, cos_1, stroke, rod, offset)
    z[SIN_HALF * s + b], z[COS_HALF * s + b] = sin_1, cos_1
    v_cyl, v_case = z[CLEARANCE_M3 * s + b] + area * x_m, z[CASE_AT_TDC_M3 * s + b] - area * x_m
    z[at(VOLUMES, 3, CYLINDER) * s + b], z[at(VOLUMES, 3, CRANKCASE) * s + b] = z[T_CYL * s + b], z[T_CRANK * s + b]
    z[V_MID * s + b] = v_cyl
    z[M_MID * s + b] = z[at(VOLUMES, 0, CYLINDER) * s + b] + 0.5 * dt * z[at(INFLOW, 0, CYLINDER) * s + b]
    volume_to_mid_step(law, z, CYLINDER, z[P_CYL * s + b] * (v_cyl - z[V_CYL * s + b]), v_cyl, s, b)
    volume_to_mid_step(law, z, CRANKCASE, z[P_CRANK * s + b] * (v_case - z[V_CRANK * s + b]), v_case, s, b)
    z[T_MID * s + b], z[Y_MID * s + b] = z[at(STATES, 1, CYLINDER) * s + b], z[at(STATES, 2, CYLINDER) * s + b]


@compiled(inline="always")
def at_exhaust(law: GasLaw, z: FloatArray, fresh: float, s: int, b: int) -> None:
    """Fill the state of the cylinder as the exhaust port sees it, where gas of this fresh fraction leaves."""
    p, t = z[at(STATES, 0, CYLINDER) * s + b], z[at(STATES, 1, CYLINDER) * s + b]
    z[at(STATES, 0, CYLINDER_AT_EXHAUST) * s + b], z[at(STATES, 1, CYLINDER_AT_EXHAUST) * s + b] = p, t
    z[at(STATES, 2, CYLINDER_AT_EXHAUST) * s + b] = fresh
    z[at(STATES, 3, CYLINDER_AT_EXHAUST) * s + b] = gamma_of(law, t, fresh)
    z[at(STATES, 4, CYLINDER_AT_EXHAUST) * s + b] = gas_constant(law, fresh)
    z[at(STATES, 5, CYLINDER_AT_EXHAUST) * s + b] = enthalpy_mixture(law, t, fresh)


@compiled()
def openings_at_mid_step(
    w: FloatArray,
    ends: IntArray,
    port_of_end: IntArray,
    ways: IntArray,
    end_data: FloatArray,
    ports: FloatArray,
    z: FloatArray,
    opening: FloatArray,
    s: int,
    b: int,
) -> None:
    """Fill how far each end of engine b of s is open, move the reed, and choose which volume an end meets."""
    dt = z[DT * s + b]
    theta = z[THETA * s + b] + 0.5 * z[SPEED_RAD_S * s + b] * dt
    # linear interpolation over one revolution, last column equal to first
    column = (theta if theta >= 0.0 else theta + 2.0 * math.pi) * ((ports.shape[1] - 1) / (2.0 * math.pi))
    i = min(int(column), ports.shape[1] - 2)
    part = column - i
    for e in range(ends.shape[0]):
        which = port_of_end[e]
        if which == FIXED:
            share = 1.0
        elif which == REED:
            k = ends[e, CELL] * s + b
            # at the petal, not half a cell before it
            p_face = 1.5 * w[1, k] - 0.5 * w[1, k + ends[e, INWARD] * s]
            push = (p_face - z[at(STATES, 0, CRANKCASE) * s + b]) * z[REED_FORCE_M2 * s + b]
            lift = z[LIFT_M * s + b]
            lift_1, z[LIFT_M_S * s + b] = reed_step(
                lift, z[LIFT_M_S * s + b], push, dt, z[REED_KG * s + b], z[REED_N_M * s + b], z[REED_DAMPING * s + b],
                z[REED_STOP_M * s + b], z[REED_REBOUND * s + b],
            )  # fmt: skip
            z[LIFT_M * s + b] = lift_1
            share = min(0.5 * (lift + lift_1) * z[REED_FLOW_M * s + b], z[REED_MOST_M2 * s + b]) / end_data[2, e]
        else:
            share = (ports[which, i] + part * (ports[which, i + 1] - ports[which, i])) / end_data[2, e]
            if ways[e, SECOND] != NONE:
                row = ways[e, SECOND_PORT]
                other = (ports[row, i] + part * (ports[row, i + 1] - ports[row, i])) / end_data[2, e]
                ends[e, MEETS] = ways[e, SECOND] if other > share else ways[e, FIRST]
                share = max(share, other)
        opening[0, e * s + b] = share * end_data[0, e]
        opening[1, e * s + b] = share * end_data[1, e]


@compiled()
def heat_and_burn(law: GasLaw, z: FloatArray, s: int, b: int) -> None:
    """Heat lost to the walls at mid-step, and given by the burn, in a step of engine b of s."""
    t_m, y_m = z[T_MID * s + b], z[Y_MID * s + b]
    cp = cv_mixture(law, t_m, y_m) + gas_constant(law, y_m)
    h = heat_coefficient_w_m2k(
        z[BORE_M * s + b], z[PISTON_M_S * s + b], z[M_MID * s + b] / z[V_MID * s + b], t_m, cp, z[ANNAND_A * s + b]
    )
    surface = 2.0 * z[PISTON_M2 * s + b] + math.pi * z[BORE_M * s + b] * z[X_MID * s + b]
    z[LOST * s + b] = z[DT * s + b] * h * surface * (t_m - z[WALL_K * s + b])
    z[HEAT * s + b] = 0.0
    theta_1 = z[THETA * s + b] + z[SPEED_RAD_S * s + b] * z[DT * s + b]
    if theta_1 < z[OPENS_RAD * s + b]:  # between spark and exhaust opening
        now = burned_fraction(
            math.degrees(theta_1), z[SPARK_DEG * s + b], z[BURN_DEG * s + b], z[WIEBE_A * s + b], z[WIEBE_M * s + b]
        )
        burn(z, now, s, b)


@compiled(inline="always")
def burn(z: FloatArray, now: float, s: int, b: int) -> None:
    """Burn what is missing to the burned fraction now, no more than there is."""
    amount = min(z[FRESH_0 * s + b] * (now - z[BURNED * s + b]), z[at(VOLUMES, 2, CYLINDER) * s + b])
    z[BURNED * s + b] = now
    z[at(VOLUMES, 2, CYLINDER) * s + b] -= amount
    z[HEAT * s + b] = amount * z[GAINED_J_KG * s + b]
    z[HEAT_J * s + b] += amount * z[HEAT_J_KG * s + b]
    z[GAINED_J * s + b] += z[HEAT * s + b]


@compiled(inline="always")
def close_step(law: GasLaw, z: FloatArray, s: int, b: int) -> None:
    """Bring cylinder and crankcase of engine b of s to the end of the step, with what crossed, heat and work."""
    dt, area, x = z[DT * s + b], z[PISTON_M2 * s + b], z[X * s + b]
    v_cyl, v_case = z[CLEARANCE_M3 * s + b] + area * x, z[CASE_AT_TDC_M3 * s + b] - area * x
    z[LOST_J * s + b] += z[LOST * s + b]
    mass = z[at(VOLUMES, 0, CYLINDER) * s + b] + dt * z[at(INFLOW, 0, CYLINDER) * s + b]
    fresh = z[at(VOLUMES, 2, CYLINDER) * s + b] + dt * z[at(INFLOW, 2, CYLINDER) * s + b]
    energy = z[at(VOLUMES, 1, CYLINDER) * s + b] + dt * z[at(INFLOW, 1, CYLINDER) * s + b]
    energy, work, p, t = change_volume(
        law, mass, energy + z[HEAT * s + b] - z[LOST * s + b], fresh, z[T_CYL * s + b], z[V_CYL * s + b], v_cyl,
        z[P_CYL * s + b],
    )  # fmt: skip
    z[at(VOLUMES, 0, CYLINDER) * s + b], z[at(VOLUMES, 1, CYLINDER) * s + b] = mass, energy
    z[at(VOLUMES, 2, CYLINDER) * s + b] = fresh
    z[WORK_J * s + b] += work
    z[P_LAST * s + b], z[P_CYL * s + b], z[T_CYL * s + b] = z[P_CYL * s + b], p, t
    mass = z[at(VOLUMES, 0, CRANKCASE) * s + b] + dt * z[at(INFLOW, 0, CRANKCASE) * s + b]
    fresh = z[at(VOLUMES, 2, CRANKCASE) * s + b] + dt * z[at(INFLOW, 2, CRANKCASE) * s + b]
    energy = z[at(VOLUMES, 1, CRANKCASE) * s + b] + dt * z[at(INFLOW, 1, CRANKCASE) * s + b]
    energy, work, p, t = change_volume(
        law, mass, energy, fresh, z[T_CRANK * s + b], z[V_CRANK * s + b], v_case, z[P_CRANK * s + b]
    )
    z[at(VOLUMES, 0, CRANKCASE) * s + b], z[at(VOLUMES, 1, CRANKCASE) * s + b] = mass, energy
    z[at(VOLUMES, 2, CRANKCASE) * s + b] = fresh
    z[CASE_WORK_J * s + b] += work
    z[P_CRANK * s + b], z[T_CRANK * s + b] = p, t
    z[V_CYL * s + b], z[V_CRANK * s + b] = v_cyl, v_case
    z[THETA * s + b] += z[SPEED_RAD_S * s + b] * dt
    z[STEPS * s + b] += 1.0
    shut, higher = z[THETA * s + b] < z[OPENS_RAD * s + b], z[P_CYL * s + b] > z[PEAK_PA * s + b]
    z[PEAK_RAD * s + b] = z[THETA * s + b] if shut & higher else z[PEAK_RAD * s + b]
    z[PEAK_PA * s + b] = z[P_CYL * s + b] if shut & higher else z[PEAK_PA * s + b]


@compiled()
def close_rigid(z: FloatArray, count: int, s: int, b: int) -> None:
    """Bring the rigid volumes of engine b of s, of `count` volumes, to the end of the step."""
    for v in range(RIGID, count):
        for r in range(3):
            z[at(VOLUMES, r, v) * s + b] += z[DT * s + b] * z[at(INFLOW, r, v) * s + b]
        z[at(VOLUMES, 3, v) * s + b] = z[at(STATES, 1, v) * s + b]


@compiled()
def knock(law: GasLaw, z: FloatArray, s: int, b: int) -> None:
    """Carry the knock integral of engine b of s through a step with the ports shut."""
    if z[THETA * s + b] < z[OPENS_RAD * s + b] and z[BURNED * s + b] < 0.95:
        g = gamma_of(law, z[T_UNBURNED * s + b], 1.0)
        z[T_UNBURNED * s + b] *= (z[P_CYL * s + b] / z[P_LAST * s + b]) ** ((g - 1.0) / g)
        delay = delay_ms(z[OCTANE * s + b], z[P_CYL * s + b] / PA_PER_ATM, z[T_UNBURNED * s + b])
        z[KNOCK * s + b] += 1e3 * z[DT * s + b] / delay


@compiled(inline="always")
def bin_of(z: FloatArray, bins: int, s: int, b: int) -> int:
    """Column of a trace that the crank angle of engine b of s falls into."""
    theta = z[THETA * s + b]
    return min(int((theta if theta >= 0.0 else theta + 2.0 * math.pi) / (2.0 * math.pi) * bins), bins - 1)


@compiled()
def write_trace(z: FloatArray, trace: FloatArray, here: int, s: int, b: int) -> None:
    """Write column `here` of a trace, and on a straight line to it those that the step went over."""
    bins, last = trace.shape[1], int(z[LAST_BIN * s + b])
    if last < 0:  # the first step of a revolution, which begins where the one before has ended
        last = min(int(z[CLOSES_RAD * s + b] / (2.0 * math.pi) * bins), bins - 1)
    trace[TRACE_CYLINDER_PA, here], trace[TRACE_CYLINDER_K, here] = z[P_CYL * s + b], z[T_CYL * s + b]
    trace[TRACE_FRESH, here] = z[at(VOLUMES, 2, CYLINDER) * s + b] / z[at(VOLUMES, 0, CYLINDER) * s + b]
    trace[TRACE_CASE_PA, here], trace[TRACE_LIFT_M, here] = z[P_CRANK * s + b], z[LIFT_M * s + b]
    if trace[TRACE_CYLINDER_PA, last] > 0.0:  # not before the first revolution
        over = (here - last) % bins
        for i in range(1, over):
            column = (last + i) % bins
            for r in range(TRACES):
                trace[r, column] = trace[r, last] + i / over * (trace[r, here] - trace[r, last])
    z[LAST_BIN * s + b] = here


@compiled()
def end_turn(q: FloatArray, geo: FloatArray, z: FloatArray, pipe: IntArray, s: int, b: int) -> None:
    """Note the energy in the pipe of engine b of s, and what its next revolution begins with."""
    for k in range(pipe[0], pipe[1]):
        z[PIPE_J * s + b] += q[2, k * s + b] / geo[1, k * s + b]
    z[at(VOLUMES, 3, CYLINDER) * s + b], z[at(VOLUMES, 3, CRANKCASE) * s + b] = z[T_CYL * s + b], z[T_CRANK * s + b]
    for r in range(3):
        z[(INTO_CYLINDER + r) * s + b] = z[at(INFLOW, r, CYLINDER) * s + b]
        z[(INTO_CASE + r) * s + b] = z[at(INFLOW, r, CRANKCASE) * s + b]


@compiled(nogil=True)
def turn(
    q: FloatArray,
    w: FloatArray,
    geo: FloatArray,
    gas: FloatArray,
    ends: IntArray,
    steps: IntArray,
    ratios: FloatArray,
    port_of_end: IntArray,
    ways: IntArray,
    end_data: FloatArray,
    ports: FloatArray,
    z: FloatArray,
    states: FloatArray,
    inflow: FloatArray,
    flows: FloatArray,
    trace: FloatArray,
    pipe: IntArray,
    of_cells: FloatArray,
    of_ends: FloatArray,
    unsolved: IntArray,
    volumes: int,
    most_steps: int,
) -> int:
    """Turn the engine once, from exhaust closing to exhaust closing.

    port_of_end : (ends,), FIXED, REED or the row of `ports`; end_data : (3, ends), discharge coefficient for flow
        out of the duct and into it, and duct area at the end [m^2]
    ways : (ends, 3), the volume an end meets through its port, and another volume with the row of the port that leads
        to it (whichever is open further is met), or NONE
    ports : (ports, columns), open area over one revolution [m^2]
    z : (NUMBERS,), everything of the engine that is not of a cell; states (6, MOST_VOLUMES) and inflow
        (3, MOST_VOLUMES) are the same memory as z at STATES and INFLOW
    flows : (3, ends), filled with mass, energy and fresh mass that left each duct end in the revolution
    trace : (TRACES, bins) or the rows of a recording, filled
    pipe : first and last + 1 cell of the exhaust pipe
    of_cells : (13, cells), unsolved : (1,), room to work in, anything in it
    of_ends : (4, ends), room to work in; the last two rows, hints for the ends' pressures, are carried on; 1 at first
    volumes : how many there are, RIGID or more
    Returns FINE, OUT_OF_STEPS or UNPHYSICAL.
    """
    n, count = q.shape[1], ends.shape[0]
    slope, mid, flux, dt_of = of_cells[0:4], of_cells[4:8], of_cells[8:12], of_cells[12]
    opening, hints = of_ends[0:2], of_ends[2:4]
    law = law_of(gas)
    for k in range(n):
        for r in range(4):
            slope[r, k], mid[r, k], flux[r, k] = 0.0, 1.0, 0.0
    unsolved[0] = 0
    begin(law, z, flows, 1, 0)
    for _ in range(most_steps):
        decode(q, w, gas)
        if unphysical_cells(q, w) > 0 or not z[P_CYL] > 0.0 or not z[P_CRANK] > 0.0:
            return UNPHYSICAL
        choose_step(z, fastest(w, geo, 0, 1), 1, 0)
        dt = z[DT]
        for k in range(n):
            dt_of[k] = dt
        volumes_to_mid_step(law, z, 1, 0)
        fresh = leaving(z[Y_MID], z[MIXING], z[SCAVENGE_K0], z[SCAVENGE_K1], z[SCAVENGE_K2])
        at_exhaust(law, z, fresh, 1, 0)
        for v in range(RIGID, volumes):
            volume_to_mid_step(law, z, v, 0.0, z[SIZES + v], 1, 0)
        openings_at_mid_step(w, ends, port_of_end, ways, end_data, ports, z, opening, 1, 0)
        fluxes(q, w, geo, dt_of, slope, mid, flux, ends, steps, ratios, opening, hints, states, inflow, unsolved, 1)
        advance(q, w, geo, dt_of, mid, flux, 1)
        for e in range(count):
            f = ends[e, FACE]
            per = dt * end_data[2, e] * (-1.0 if ends[e, INWARD] > 0 else 1.0)
            flows[0, e] += per * flux[0, f]
            flows[1, e] += per * flux[2, f]
            flows[2, e] += per * flux[3, f]
        for r in range(3):
            z[at(INFLOW, r, CYLINDER)] += z[at(INFLOW, r, CYLINDER_AT_EXHAUST)]
        if z[BLOW_BY_M2] > 0.0:
            blow_by(z, 1, 0)
        heat_and_burn(law, z, 1, 0)
        close_step(law, z, 1, 0)
        close_rigid(z, volumes, 1, 0)
        knock(law, z, 1, 0)
        here = bin_of(z, trace.shape[1], 1, 0)
        if here != z[LAST_BIN]:
            write_trace(z, trace, here, 1, 0)
            if trace.shape[0] > TRACES:
                fresh = z[at(VOLUMES, 2, CRANKCASE)] / z[at(VOLUMES, 0, CRANKCASE)]
                note(trace, here, z[THETA], z[T_CRANK], fresh, w, flux, ends, end_data, pipe)
        if z[LAST] > 0.0:
            z[UNSOLVED] = unsolved[0]
            end_turn(q, geo, z, pipe, 1, 0)
            return FINE
    return OUT_OF_STEPS
