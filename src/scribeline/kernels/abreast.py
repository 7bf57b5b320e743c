"""One time step of the ducts of LANES engines at once; see `network` for one engine.

Cells of the engines are interleaved. All ends of all engines are solved together, by kernels.ends.
"""

from scribeline.kernels import ends as at_ends
from scribeline.kernels.boundaries import SHUT
from scribeline.kernels.compiling import compiled
from scribeline.kernels.duct import (
    AREA,
    D_P,
    D_RHO,
    D_U,
    D_Y,
    ENE,
    FRE,
    INV_DX,
    MOM,
    RHO,
    A,
    G,
    H,
    K,
    P,
    U,
    Y,
    exchange,
    find_slopes,
    inward_slopes,
    predict,
    slopes_at_end,
)
from scribeline.kernels.ends import BLOCK, LANES, place, solve_ends
from scribeline.kernels.exact import NIL, ONE
from scribeline.kernels.gas import FloatArray
from scribeline.kernels.network import (
    CELL,
    FACE,
    IN_ENERGY,
    IN_FRESH,
    IN_MASS,
    INWARD,
    MEETS,
    IntArray,
    flux_at_steps,
)

NEAR = 22 * LANES


@compiled()
def slopes_at_ends(
    q: FloatArray,
    w: FloatArray,
    slope: FloatArray,
    ends: IntArray,
    opening: FloatArray,
    states: FloatArray,
    x: FloatArray,
    near: FloatArray,
) -> None:
    """As `duct.slopes_at_mouth` at all ends of LANES engines; opening, states as in `network.flux_at_ends`.

    x : as in `flux_at_ends`; what an end must know of its volume and its opening is filled in
    near : (ends * NEAR,), room for three cells of density, velocity, pressure, fresh share, a sound speed, what comes
        in and its volume, then four slopes. All is fetched before any is used: a register can only be filled from
        single numbers that have reached the memory
    """
    for i in range(ends.shape[1]):
        inward = ends[0, i, INWARD]
        sign = ONE if inward > 0 else -ONE
        home, room = x[i * BLOCK : (i + 1) * BLOCK], near[i * NEAR : (i + 1) * NEAR]
        for b in range(LANES):
            v, k = ends[b, i, MEETS] * LANES + b, ends[b, i, CELL] * LANES + b
            for j in range(3):
                c = k + j * inward * LANES
                room[j * LANES + b] = q[RHO, c]
                room[(3 + j) * LANES + b] = w[U, c]
                room[(6 + j) * LANES + b] = w[P, c]
                room[(9 + j) * LANES + b] = w[Y, c]
            room[12 * LANES + b] = w[A, k]
            room[13 * LANES + b] = NIL if opening[1, i * LANES + b] < SHUT else sign * w[U, k]
            home[at_ends.P_V * LANES + b], home[at_ends.T_V * LANES + b] = states[0, v], states[1, v]
            home[at_ends.Y_V * LANES + b], home[at_ends.G_V * LANES + b] = states[2, v], states[3, v]
            home[at_ends.R_V * LANES + b], home[at_ends.H_V * LANES + b] = states[4, v], states[5, v]
            home[at_ends.OUT * LANES + b] = opening[0, i * LANES + b]
            home[at_ends.IN * LANES + b] = opening[1, i * LANES + b]
            room[14 * LANES + b], room[15 * LANES + b] = states[1, v], states[2, v]
            room[16 * LANES + b], room[17 * LANES + b] = states[3, v], states[4, v]
    for i in range(ends.shape[1]):
        sign = ONE if ends[0, i, INWARD] > 0 else -ONE
        room = near[i * NEAR : (i + 1) * NEAR]
        for b in range(LANES):
            rho = (room[b], room[LANES + b], room[2 * LANES + b])
            u = (room[3 * LANES + b], room[4 * LANES + b], room[5 * LANES + b])
            p = (room[6 * LANES + b], room[7 * LANES + b], room[8 * LANES + b])
            y = (room[9 * LANES + b], room[10 * LANES + b], room[11 * LANES + b])
            volume = (room[14 * LANES + b], room[15 * LANES + b], room[16 * LANES + b], room[17 * LANES + b])
            d_rho, d_u, d_p, d_y = inward_slopes(
                rho, u, p, y, room[12 * LANES + b], room[13 * LANES + b], volume
            )  # fmt: skip
            room[18 * LANES + b], room[19 * LANES + b] = sign * d_rho, sign * d_u
            room[20 * LANES + b], room[21 * LANES + b] = sign * d_p, sign * d_y
    for i in range(ends.shape[1]):
        room = near[i * NEAR + 18 * LANES : (i + 1) * NEAR]
        for b in range(LANES):
            k = ends[b, i, CELL] * LANES + b
            for r in range(4):
                slope[r, k] = room[r * LANES + b]


@compiled()
def flux_at_ends(
    w: FloatArray,
    geo: FloatArray,
    slope: FloatArray,
    mid: FloatArray,
    flux: FloatArray,
    ends: IntArray,
    hints: FloatArray,
    inflow: FloatArray,
    flows: FloatArray,
    unsolved: IntArray,
    dt: FloatArray,
    x: FloatArray,
) -> None:
    """Write the flux at every duct end of LANES engines, and what it brings to the volumes; see `network.flux_at_ends`.

    ends : (LANES, ends, 4); no walls and no free ends, and the same INWARD for all
    flows : (3, ends * LANES), the mass, energy and fresh mass that leave the ducts are added; dt : (cells * LANES,)
    x : (ends.room_for(ends * LANES),), room to work in, where `slopes_at_ends` has been
    """
    inflow[:] = 0.0
    for i in range(ends.shape[1]):
        outward = -1.0 if ends[0, i, INWARD] > 0 else 1.0
        half = 0.5 * outward
        for b in range(LANES):
            e = i * LANES + b
            o, k = place(e), ends[b, i, CELL] * LANES + b
            x[at_ends.RHO * LANES + o] = mid[D_RHO, k] + half * slope[D_RHO, k]
            x[at_ends.U * LANES + o] = (mid[D_U, k] + half * slope[D_U, k]) * outward
            x[at_ends.P * LANES + o] = mid[D_P, k] + half * slope[D_P, k]
            x[at_ends.Y * LANES + o] = min(max(mid[D_Y, k] + half * slope[D_Y, k], 0.0), 1.0)
            x[at_ends.G * LANES + o], x[at_ends.H * LANES + o], x[at_ends.K * LANES + o] = w[G, k], w[H, k], w[K, k]
            last = hints[0, e]
            x[at_ends.HINT * LANES + o] = min(max(2.0 * last - hints[1, e], 0.5 * last), 2.0 * last)
            hints[1, e] = last
    solve_ends(x, ends.shape[1] * LANES, unsolved)
    for i in range(ends.shape[1]):
        outward = -1.0 if ends[0, i, INWARD] > 0 else 1.0
        for b in range(LANES):
            e = i * LANES + b
            o, v, f = place(e), ends[b, i, MEETS] * LANES + b, ends[b, i, FACE] * LANES + b
            hints[0, e] = x[at_ends.NEXT * LANES + o]
            mass, energy, fresh = x[at_ends.MASS * LANES + o], x[at_ends.ENE * LANES + o], x[at_ends.FRE * LANES + o]
            flux[RHO, f], flux[MOM, f] = outward * mass, x[at_ends.MOM * LANES + o]
            flux[ENE, f], flux[FRE, f] = outward * energy, outward * fresh
            area = geo[AREA, f]
            flows[0, e] += dt[b] * area * mass
            flows[1, e] += dt[b] * area * energy
            flows[2, e] += dt[b] * area * fresh
            inflow[IN_MASS, v] += area * mass
            inflow[IN_ENERGY, v] += area * energy
            inflow[IN_FRESH, v] += area * fresh


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
    flows: FloatArray,
    unsolved: IntArray,
    x: FloatArray,
    near: FloatArray,
) -> None:
    """As `network.fluxes`, of LANES engines each with its own ends; arguments as in `flux_at_ends`."""
    find_slopes(q, w, slope, LANES)
    for i in range(steps.shape[0]):
        for b in range(LANES):
            k = steps[i, b] * LANES + b
            slopes_at_end(q, w, slope, k, LANES, False)
            slopes_at_end(q, w, slope, k - LANES, -LANES, False)
    slopes_at_ends(q, w, slope, ends, opening, states, x, near)
    predict(q, w, geo, dt, slope, mid)
    exchange(w, slope, mid, flux, LANES)
    flux_at_steps(q, w, geo, dt, slope, mid, flux, steps, ratios, LANES)
    flux_at_ends(w, geo, slope, mid, flux, ends, hints, inflow, flows, unsolved, dt, x)


@compiled(fastmath={"nnan", "nsz", "contract"})
def fastest(w: FloatArray, geo: FloatArray, rate: FloatArray) -> None:
    """As `duct.fastest` for LANES engines: leaves the largest (|u| + a) / length [1/s] of each in front in `rate`.

    rate : (cells * LANES,), room to work in. Halves what is left again and again, each half in one stroke.
    """
    u, a, inv_dx = w[U], w[A], geo[INV_DX]
    for k in range(rate.size):
        rate[k] = (abs(u[k]) + a[k]) * inv_dx[k]
    left = rate.size // LANES
    while left > 1:
        half = (left + 1) // 2
        front, back = rate[: (left - half) * LANES], rate[half * LANES : left * LANES]
        for k in range(front.size):
            front[k] = max(front[k], back[k])
        left = half
