"""The compiled time loop for LANES engines side by side, each at its own crank angle and with its own time step.

Cells of all engines are interleaved (cell i of engine b at i * LANES + b), and so is what is one number for an engine,
so that one instruction does the same thing for all. Volumes and cranks are moved by functions of `turning`; ends are
solved by kernels.ends; wall heat, burn and knock are written here without branches and library calls. Whoever is
through a revolution ends the call, to be looked at. An engine's result does not depend on its neighbours; an empty lane
takes steps of no length.
"""

import math

from scribeline.cycle.turning import (
    ANNAND_A,
    BLOW_BY_M2,
    BORE_M,
    BURN_DEG,
    BURNED,
    CYLINDER,
    CYLINDER_AT_EXHAUST,
    DT,
    HEAT,
    INFLOW,
    KNOCK,
    LAST,
    LAST_BIN,
    LOST,
    M_MID,
    MIXING,
    OCTANE,
    OPENS_RAD,
    P_CRANK,
    P_CYL,
    P_LAST,
    PISTON_M2,
    PISTON_M_S,
    RIGID,
    SCAVENGE_K0,
    SCAVENGE_K1,
    SCAVENGE_K2,
    SIZES,
    SPARK_DEG,
    SPEED_RAD_S,
    STEPS,
    T_MID,
    T_UNBURNED,
    THETA,
    UNSOLVED,
    V_MID,
    WALL_K,
    WIEBE_A,
    WIEBE_M,
    X_MID,
    Y_MID,
    at,
    at_exhaust,
    begin,
    bin_of,
    blow_by,
    burn,
    choose_step,
    close_rigid,
    close_step,
    end_turn,
    openings_at_mid_step,
    volume_to_mid_step,
    volumes_to_mid_step,
    write_trace,
)
from scribeline.kernels.abreast import fastest, fluxes
from scribeline.kernels.compiling import compiled
from scribeline.kernels.duct import RHO, P, advance, decode, unphysical_cells
from scribeline.kernels.elementary import exponential, logarithm, power
from scribeline.kernels.ends import LANES
from scribeline.kernels.gas import FloatArray, GasLaw, cv_mixture, gamma_of, gas_constant, law_of
from scribeline.kernels.network import FINE, OUT_OF_STEPS, UNPHYSICAL, IntArray
from scribeline.models.annand import PRANDTL, B, viscosity_pa_s
from scribeline.models.knock import ACTIVATION_K, OCTANE_EXPONENT, PA_PER_ATM, PREFACTOR_MS, PRESSURE_EXPONENT
from scribeline.models.scavenging import LEAST_MIXING, leaving

# what a lane is doing; a revolution that has ended is FINE, OUT_OF_STEPS or UNPHYSICAL
EMPTY, BEGINNING, TURNING = -1, -2, -3


@compiled()
def mark_unphysical(q: FloatArray, w: FloatArray, doing: IntArray) -> None:
    """End the revolution of every engine with a density or pressure that is not a positive number."""
    for k in range(q.shape[1]):
        if not (q[RHO, k] > 0.0 and w[P, k] > 0.0):
            doing[k % LANES] = UNPHYSICAL


@compiled()
def choose_steps(z: FloatArray, fastest_hz: FloatArray) -> None:
    """Set the length of every engine's next step."""
    for b in range(LANES):
        choose_step(z, fastest_hz[b], LANES, b)


@compiled()
def to_mid_step(law: GasLaw, z: FloatArray, volumes: int) -> None:
    """Bring cranks and volumes of all engines to mid-step."""
    for b in range(LANES):
        volumes_to_mid_step(law, z, LANES, b)
    curved = 0
    for b in range(LANES):
        curved += z[SCAVENGE_K1 * LANES + b] < 0.0
    if curved > 0:
        for b in range(LANES):
            fresh = leaving(
                z[Y_MID * LANES + b], z[MIXING * LANES + b], z[SCAVENGE_K0 * LANES + b], z[SCAVENGE_K1 * LANES + b],
                z[SCAVENGE_K2 * LANES + b],
            )  # fmt: skip
            at_exhaust(law, z, fresh, LANES, b)
    else:
        for b in range(LANES):
            y = min(max(z[Y_MID * LANES + b], 0.0), 1.0)
            exponent = 1.0 / max(z[MIXING * LANES + b], LEAST_MIXING)
            log = exponent * logarithm(max(y, 1e-9))
            fresh = exponential(max(log, -40.0)) if log > -40.0 else 0.0
            at_exhaust(law, z, fresh, LANES, b)
    for v in range(RIGID, volumes):
        for b in range(LANES):
            volume_to_mid_step(law, z, v, 0.0, z[(SIZES + v) * LANES + b], LANES, b)


@compiled()
def heat_and_burn(law: GasLaw, z: FloatArray) -> None:
    """As `turning.heat_and_burn`, of all engines."""
    for b in range(LANES):
        t_m, y_m, bore = z[T_MID * LANES + b], z[Y_MID * LANES + b], z[BORE_M * LANES + b]
        cp = cv_mixture(law, t_m, y_m) + gas_constant(law, y_m)
        mu = viscosity_pa_s(t_m)
        reynolds = z[M_MID * LANES + b] / z[V_MID * LANES + b] * z[PISTON_M_S * LANES + b] * bore / mu
        h = z[ANNAND_A * LANES + b] * cp * mu / PRANDTL / bore * power(reynolds, B)
        surface = 2.0 * z[PISTON_M2 * LANES + b] + math.pi * bore * z[X_MID * LANES + b]
        z[LOST * LANES + b] = z[DT * LANES + b] * h * surface * (t_m - z[WALL_K * LANES + b])
        z[HEAT * LANES + b] = 0.0
    for b in range(LANES):
        theta = z[THETA * LANES + b] + z[SPEED_RAD_S * LANES + b] * z[DT * LANES + b]
        x = (theta * (180.0 / math.pi) - z[SPARK_DEG * LANES + b]) / z[BURN_DEG * LANES + b]
        raised = power(max(x, 1e-6), z[WIEBE_M * LANES + b] + 1.0)
        now = 1.0 - exponential(max(-z[WIEBE_A * LANES + b] * raised, -40.0)) if x > 0.0 else 0.0
        now = now if theta < z[OPENS_RAD * LANES + b] else z[BURNED * LANES + b]
        burn(z, now, LANES, b)


@compiled()
def close_steps(law: GasLaw, z: FloatArray) -> None:
    """Bring cylinders and crankcases of all engines to the end of the step, and the knock integrals with them."""
    for r in range(3):
        for b in range(LANES):
            z[at(INFLOW, r, CYLINDER) * LANES + b] += z[at(INFLOW, r, CYLINDER_AT_EXHAUST) * LANES + b]
    for b in range(LANES):
        if z[BLOW_BY_M2 * LANES + b] > 0.0:
            blow_by(z, LANES, b)
    heat_and_burn(law, z)
    for b in range(LANES):
        close_step(law, z, LANES, b)
    for b in range(LANES):
        t, p = z[T_UNBURNED * LANES + b], z[P_CYL * LANES + b]
        g = gamma_of(law, t, 1.0)
        t_1 = t * power(p / z[P_LAST * LANES + b], (g - 1.0) / g)
        scale = PREFACTOR_MS * power(z[OCTANE * LANES + b] / 100.0, OCTANE_EXPONENT)
        delay = scale * power(p / PA_PER_ATM, PRESSURE_EXPONENT) * exponential(min(ACTIVATION_K / t_1, 40.0))
        still = (z[THETA * LANES + b] < z[OPENS_RAD * LANES + b]) & (z[BURNED * LANES + b] < 0.95)
        z[T_UNBURNED * LANES + b] = t_1 if still else t
        z[KNOCK * LANES + b] += 1e3 * z[DT * LANES + b] / delay if still else 0.0


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
    room: FloatArray,
    near: FloatArray,
    unsolved: IntArray,
    doing: IntArray,
    volumes: int,
    most_steps: int,
) -> None:
    """Turn every engine that is TURNING or BEGINNING until at least one is through its revolution; `doing` says which.

    Tables as in `turning.turn`. Interleaved: q, w, geo, of_cells, ratios, of_ends, flows (rows, numbers * LANES), steps
    (steps, LANES), z (NUMBERS * LANES,) with states and inflow in it. One engine behind the other: ends, port_of_end,
    ways, end_data, ports, trace, pipe. gas is the same for all. room : (kernels.ends.room_for(ends * LANES),)
    """
    slope, mid, flux, dt_of = of_cells[0:4], of_cells[4:8], of_cells[8:12], of_cells[12]
    opening, hints = of_ends[0:2], of_ends[2:4]
    law = law_of(gas)
    for b in range(LANES):
        if doing[b] == BEGINNING:
            begin(law, z, flows, LANES, b)
            unsolved[b] = 0
            doing[b] = TURNING
    bins = trace.shape[2]
    through = True  # unless somebody turns
    for b in range(LANES):
        through = through and doing[b] != TURNING
    while not through:
        decode(q, w, gas)
        if unphysical_cells(q, w) > 0:
            mark_unphysical(q, w, doing)
            return
        fastest(w, geo, dt_of)
        choose_steps(z, dt_of)
        for b in range(LANES):
            if doing[b] != TURNING:
                z[DT * LANES + b] = 0.0
        for b in range(LANES):
            dt_of[b] = z[DT * LANES + b]
        filled = LANES  # whole registers are copied, twice as many each time
        while filled < dt_of.size:
            front, back = dt_of[:filled], dt_of[filled : 2 * filled]
            for k in range(back.size):
                back[k] = front[k]
            filled *= 2
        to_mid_step(law, z, volumes)
        for b in range(LANES):
            openings_at_mid_step(
                w, ends[b], port_of_end[b], ways[b], end_data[b], ports[b], z, opening, LANES, b
            )  # fmt: skip
        fluxes(
            q, w, geo, dt_of, slope, mid, flux, ends, steps, ratios, opening, hints, states, inflow, flows, unsolved,
            room, near,
        )  # fmt: skip
        advance(q, w, geo, dt_of, mid, flux, LANES)
        close_steps(law, z)
        for b in range(LANES):
            close_rigid(z, volumes, LANES, b)
        for b in range(LANES):
            if doing[b] == TURNING:
                here = bin_of(z, bins, LANES, b)
                if here != z[LAST_BIN * LANES + b]:
                    write_trace(z, trace[b], here, LANES, b)
                if not (z[P_CYL * LANES + b] > 0.0 and z[P_CRANK * LANES + b] > 0.0):
                    doing[b] = UNPHYSICAL
                elif z[LAST * LANES + b] > 0.0:
                    z[UNSOLVED * LANES + b] = unsolved[b]
                    end_turn(q, geo, z, pipe[b], LANES, b)
                    doing[b] = FINE
                elif z[STEPS * LANES + b] >= most_steps:
                    doing[b] = OUT_OF_STEPS
                through = through or doing[b] != TURNING
