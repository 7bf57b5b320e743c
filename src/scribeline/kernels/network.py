"""One time step of ducts and volumes together: which end meets which volume, and what crosses there.

Ducts and volumes are advanced to second order in time: the flux at an end is taken at mid-step, from the duct's
state at mid-step and the volume's state at mid-step, which is found with the flows of the step before.

    ends : int array (number of ends, 4): first cell of its duct, step to the next cell inward (+1 or -1), volume or
           WALL or FREE, index of the face
    Cell and face numbers count cells of one engine; engine b of s interleaved ones is at number * s + b.
"""

import numpy as np
import numpy.typing as npt
from numba import njit

from scribeline.kernels.boundaries import SHUT, UNSOLVED, nozzle_end, step_in_area, wall_pressure
from scribeline.kernels.compiling import compiled
from scribeline.kernels.duct import (
    AREA,
    D_P,
    D_RHO,
    D_U,
    D_Y,
    ENE,
    FRE,
    INV_VOL,
    MOM,
    RHO,
    A,
    G,
    H,
    K,
    advance,
    decode,
    exchange,
    fastest,
    find_slopes,
    predict,
    slopes_at_end,
    slopes_at_mouth,
    unphysical_cells,
)
from scribeline.kernels.gas import FloatArray
from scribeline.kernels.volumes import ENERGY, FRESH, MASS, TEMPERATURE, state_of_volume

IntArray = npt.NDArray[np.int64]

CELL, INWARD, MEETS, FACE = 0, 1, 2, 3
WALL, FREE = -1, -2  # instead of a volume: a closed end; an end that lets everything out and nothing back

# rows of the flows into volumes (3, number of volumes * s), per second
IN_MASS, IN_ENERGY, IN_FRESH = 0, 1, 2

FINE, OUT_OF_STEPS, UNPHYSICAL = 0, 1, 2
GENTLE_STEPS = 4  # shorter steps at the start, for states that begin with a jump (toro-2009, section 6.3.2)


@compiled()
def flux_at_ends(
    w: FloatArray,
    geo: FloatArray,
    slope: FloatArray,
    mid: FloatArray,
    flux: FloatArray,
    ends: IntArray,
    opening: FloatArray,
    hints: FloatArray,
    states: FloatArray,
    inflow: FloatArray,
    unsolved: IntArray,
    s: int,
) -> None:
    """Write the flux at every duct end, and what it brings to the volumes.

    opening : (2, number of ends * s), throat over duct area for flow out of the duct and into it [-]
    hints : (2, number of ends * s), of the last step and the one before, see boundaries.nozzle_end; 1 at the start
    states : (6, volumes * s), `state_of_volume` at mid-step; inflow : (3, volumes * s), filled with kg/s, W, kg/s
    unsolved : (s,), counts ends whose pressure was not found
    """
    inflow[:] = 0.0
    for i in range(ends.shape[0]):
        outward = -1.0 if ends[i, INWARD] > 0 else 1.0
        for b in range(s):
            k = ends[i, CELL] * s + b
            f = ends[i, FACE] * s + b
            half = 0.5 * outward
            rho = mid[D_RHO, k] + half * slope[D_RHO, k]
            u = (mid[D_U, k] + half * slope[D_U, k]) * outward
            p = mid[D_P, k] + half * slope[D_P, k]
            y = min(max(mid[D_Y, k] + half * slope[D_Y, k], 0.0), 1.0)
            meets = ends[i, MEETS]
            if meets == WALL:
                flux[RHO, f] = flux[ENE, f] = flux[FRE, f] = 0.0
                flux[MOM, f] = wall_pressure(rho, u, p, 1.0 + 1.0 / w[G, k])
                continue
            if meets == FREE:
                mass = rho * u
                energy = (w[G, k] + 1.0) * p + rho * (w[H, k] + w[K, k] * y + 0.5 * u * u)
                flux[RHO, f] = outward * mass
                flux[MOM, f] = mass * u + p
                flux[ENE, f] = outward * energy * u
                flux[FRE, f] = outward * mass * y
                continue
            v = meets * s + b
            volume = (states[0, v], states[1, v], states[2, v], states[3, v], states[4, v], states[5, v])
            e = i * s + b
            last = hints[0, e]
            onward = min(max(2.0 * last - hints[1, e], 0.5 * last), 2.0 * last)
            mass, mom, ene, fre, _, hints[0, e], code = nozzle_end(
                rho, u, p, y, (w[G, k], w[H, k], w[K, k]), opening[0, e], opening[1, e], volume, onward
            )
            hints[1, e] = last
            if code == UNSOLVED:
                unsolved[b] += 1
            flux[RHO, f] = outward * mass
            flux[MOM, f] = mom
            flux[ENE, f] = outward * ene
            flux[FRE, f] = outward * fre
            inflow[IN_MASS, v] += geo[AREA, f] * mass
            inflow[IN_ENERGY, v] += geo[AREA, f] * ene
            inflow[IN_FRESH, v] += geo[AREA, f] * fre


@compiled()
def flux_at_steps(
    q: FloatArray,
    w: FloatArray,
    geo: FloatArray,
    dt: FloatArray,
    slope: FloatArray,
    mid: FloatArray,
    flux: FloatArray,
    steps: IntArray,
    ratios: FloatArray,
    s: int,
) -> None:
    """Write the flux at every sudden change of area inside a duct, and add the push of the shoulder it blows past.

    `advance` lets a shoulder feel the pressure of its cell; the difference to what it should feel is added to q here.
    Where a jet comes out of the narrow that is the pressure p of the jet (Borda and Carnot); where gas speeds up into
    the narrow to u without loss, p + rho u^2/2 (1 - 1/ratio), which momentum and Bernoulli together ask for. With the
    pressure of the cell nothing would hold back what bounces off the shoulder, and steps of 16:1 would swing up.

    steps : (number of steps, s), the faces; ratios : (2, number of steps * s), area of the duct left and right of the
    face over the area of the face [-]
    """
    for i in range(steps.shape[0]):
        for b in range(s):
            k = steps[i, b] * s + b
            j = k - s
            left = (
                mid[D_RHO, j] + 0.5 * slope[D_RHO, j],
                mid[D_U, j] + 0.5 * slope[D_U, j],
                mid[D_P, j] + 0.5 * slope[D_P, j],
                mid[D_Y, j] + 0.5 * slope[D_Y, j],
            )
            right = (
                mid[D_RHO, k] - 0.5 * slope[D_RHO, k],
                mid[D_U, k] - 0.5 * slope[D_U, k],
                mid[D_P, k] - 0.5 * slope[D_P, k],
                mid[D_Y, k] - 0.5 * slope[D_Y, k],
            )
            law_l = (w[G, j], w[H, j], w[K, j])
            law_r = (w[G, k], w[H, k], w[K, k])
            r_l, r_r = ratios[0, i * s + b], ratios[1, i * s + b]
            mass, mom, ene, fre = step_in_area(left, law_l, w[A, j], r_l, right, law_r, w[A, k], r_r)
            flux[RHO, k], flux[MOM, k], flux[ENE, k], flux[FRE, k] = mass, mom, ene, fre
            moving = mass * mass / (left[0] if mass > 0.0 else right[0])
            still = mom - moving
            before, after = still, still
            if mass > 0.0:
                before += 0.5 * moving * (1.0 - 1.0 / r_l)
            else:
                after += 0.5 * moving * (1.0 - 1.0 / r_r)
            q[MOM, j] -= dt[j] * geo[INV_VOL, j] * geo[AREA, k] * (r_l - 1.0) * (before - mid[D_P, j])
            q[MOM, k] += dt[k] * geo[INV_VOL, k] * geo[AREA, k] * (r_r - 1.0) * (after - mid[D_P, k])


@compiled()
def fluxes(
    q: FloatArray,
    w: FloatArray,
    geo: FloatArray,
    dt: FloatArray,
    slope: FloatArray,
    mid: FloatArray,
    flux: FloatArray,
    ends: IntArray,
    steps: IntArray,
    ratios: FloatArray,
    opening: FloatArray,
    hints: FloatArray,
    states: FloatArray,
    inflow: FloatArray,
    unsolved: IntArray,
    s: int,
) -> None:
    """All fluxes of one step, inside the ducts and at their ends, and the flows into the volumes."""
    find_slopes(q, w, slope, s)
    for i in range(steps.shape[0]):
        for b in range(s):
            k = steps[i, b] * s + b
            slopes_at_end(q, w, slope, k, s, False)
            slopes_at_end(q, w, slope, k - s, -s, False)
    for i in range(ends.shape[0]):
        for b in range(s):
            k, inward, meets = ends[i, CELL] * s + b, ends[i, INWARD] * s, ends[i, MEETS]
            if meets < 0:
                slopes_at_end(q, w, slope, k, inward, meets == WALL)
                continue
            v = meets * s + b
            volume = (states[1, v], states[2, v], states[3, v], states[4, v])
            slopes_at_mouth(q, w, slope, k, inward, opening[1, i * s + b] < SHUT, volume)
    predict(q, w, geo, dt, slope, mid)
    exchange(w, slope, mid, flux, s)
    flux_at_steps(q, w, geo, dt, slope, mid, flux, steps, ratios, s)
    flux_at_ends(w, geo, slope, mid, flux, ends, opening, hints, states, inflow, unsolved, s)


@njit(cache=True, error_model="numpy")
def march(
    q: FloatArray,
    w: FloatArray,
    geo: FloatArray,
    gas: FloatArray,
    ends: IntArray,
    steps: IntArray,
    ratios: FloatArray,
    opening: FloatArray,
    volumes: FloatArray,
    sizes: FloatArray,
    duration: float,
    cfl: float,
    most_steps: int,
) -> tuple[int, int, int]:
    """Advance ducts and rigid volumes of one engine by duration [s]; nothing moves but the gas.

    volumes : (4, number of volumes), see volumes.py; sizes : (number of volumes,) [m^3], negative for a volume
    whose state never changes (the open air). Returns FINE, OUT_OF_STEPS or UNPHYSICAL, the number of steps, and how
    often an end was left unsolved.
    """
    n, count = q.shape[1], sizes.size
    slope, mid, flux = np.zeros((4, n)), np.ones((4, n)), np.zeros((4, n))
    dt_of, states, inflow = np.zeros(n), np.zeros((6, count)), np.zeros((3, count))
    hints, unsolved = np.ones((2, ends.shape[0])), np.zeros(1, np.int64)
    time = 0.0
    for step in range(most_steps):
        decode(q, w, gas)
        if unphysical_cells(q, w) > 0:
            return UNPHYSICAL, step, unsolved[0]
        if time >= duration:
            return FINE, step, unsolved[0]
        dt = cfl / fastest(w, geo, 0, 1)
        if step < GENTLE_STEPS:
            dt *= 0.2 * (step + 1)
        dt = min(dt, duration - time)
        time = time + dt if dt < duration - time else duration
        dt_of[:] = dt
        for v in range(count):
            half = 0.5 * dt if sizes[v] > 0.0 else 0.0
            state = state_of_volume(
                gas,
                volumes[MASS, v] + half * inflow[IN_MASS, v],
                volumes[ENERGY, v] + half * inflow[IN_ENERGY, v],
                volumes[FRESH, v] + half * inflow[IN_FRESH, v],
                volumes[TEMPERATURE, v],
                abs(sizes[v]),
            )
            for i in range(6):
                states[i, v] = state[i]
        fluxes(q, w, geo, dt_of, slope, mid, flux, ends, steps, ratios, opening, hints, states, inflow, unsolved, 1)
        advance(q, w, geo, dt_of, mid, flux, 1)
        for v in range(count):
            if sizes[v] > 0.0:
                volumes[MASS, v] += dt * inflow[IN_MASS, v]
                volumes[ENERGY, v] += dt * inflow[IN_ENERGY, v]
                volumes[FRESH, v] += dt * inflow[IN_FRESH, v]
                volumes[TEMPERATURE, v] = states[1, v]
    return OUT_OF_STEPS, most_steps, unsolved[0]
