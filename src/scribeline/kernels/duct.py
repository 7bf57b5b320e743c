"""Gas in ducts: one-dimensional flow with changing area, friction and heat, second order in space and time.

All ducts of an engine stand one behind the other in flat arrays, with one idle cell before, between and behind
them; a step is a few short passes over the whole array, so the compiler vectorises them. An idle cell has no
volume (its 1/volume is 0), so it never changes and never limits the time step. What happens at the ends of a duct is
decided elsewhere (see boundaries and network), which overwrites the slopes and fluxes there.

    cell      k-s       k      k+s            s (stride) engines are interleaved: cell i of engine b is i*s + b
           |-------|-------|-------|
    face   k-s     k      k+s    k+2s         face k is the left face of cell k

Method: finite volumes, MUSCL-Hancock (van Leer 1984; toro-2009, section 14.4) with slopes limited in the
characteristic variables, HLLC fluxes, the area source written so that gas at rest stays exactly at rest. A sudden
area change is a face smaller than its two cells: the shoulder then feels the pressure of its own cell.
Conserved per volume: mass, momentum, total energy, fresh mass. SI units, or any consistent set.
"""

import math

from scribeline.kernels.compiling import compiled
from scribeline.kernels.exact import HALF, NIL, ONE, THOUSAND, TWO, single
from scribeline.kernels.gas import FloatArray, cv_of, energy_of, temperature_of
from scribeline.kernels.riemann import hllc

# rows of q, the conserved state (4, n), and of flux (4, n), per area through the left face
RHO, MOM, ENE, FRE = 0, 1, 2, 3
# rows of w, the decoded state (8, n): velocity, pressure, temperature, fresh fraction, sound speed, and the local
# gas law  rho e = G p + rho (H + K y), tangent to the true one at the state of the cell
U, P, T, Y, A, G, H, K = 0, 1, 2, 3, 4, 5, 6, 7
# rows of slope and mid (4, n): difference across the cell, and value at its middle half a step later
D_RHO, D_U, D_P, D_Y = 0, 1, 2, 3
# rows of geo, fixed per cell (7, n): 1/length, 1/volume, area of the left face, (right - left area)/volume,
# friction 2f/D + K/2L [1/m], heat transfer St 4/D [1/m], wall temperature
INV_DX, INV_VOL, AREA, SPREAD, FRICTION, HEAT, T_WALL = 0, 1, 2, 3, 4, 5, 6
ROWS_W, ROWS_GEO = 8, 7

# All judgement.
STEEPEST = single(1.6)  # most that density or pressure may differ across a cell, of its own value
LEAST_EDGE = single(0.1)  # least value at an edge at mid-step, of the value in the cell
STEEP_CONTACT = single(0.05)  # density step from cell to cell, of the density, that counts as a contact, not as a wave
STEEP_SHARE = single(0.2)  # the same of the fresh share; lower, it makes stairs of mixtures that change gently


@compiled()
def decode(q: FloatArray, w: FloatArray, gas: FloatArray) -> None:
    """Fill w from q; the temperature already in w is the first guess and must be positive."""
    rho, mom, ene, fre = q[RHO], q[MOM], q[ENE], q[FRE]
    u_out, p_out, t_out, y_out = w[U], w[P], w[T], w[Y]
    a_out, g_out, h_out, k_out = w[A], w[G], w[H], w[K]
    r_b, r_d = gas[0], gas[1] - gas[0]
    b0, b1, b2, b3 = gas[2], gas[3], gas[4], gas[5]
    d0, d1, d2, d3 = gas[6] - b0, gas[7] - b1, gas[8] - b2, gas[9] - b3
    for k in range(rho.size):
        inv = ONE / rho[k]
        u = mom[k] * inv
        y = fre[k] * inv
        e = ene[k] * inv - HALF * u * u
        c0, c1, c2, c3 = b0 + y * d0, b1 + y * d1, b2 + y * d2, b3 + y * d3
        t = temperature_of(e, t_out[k], c0, c1, c2, c3)
        r = r_b + y * r_d
        cv = cv_of(t, c0, c1, c2, c3)
        share = ONE / (r * cv)  # one division for both ratios
        g = cv * cv * share
        slope_y = energy_of(t, d0, d1, d2, d3) - g * t * r_d
        u_out[k] = u
        p_out[k] = rho[k] * r * t
        t_out[k] = t
        y_out[k] = y
        a_out[k] = math.sqrt(t * r * (ONE + r * r * share))
        g_out[k] = g
        h_out[k] = e - cv * t - slope_y * y
        k_out[k] = slope_y


@compiled(fastmath={"nnan", "nsz", "contract"})
def fastest(w: FloatArray, geo: FloatArray, start: int, s: int) -> float:
    """Largest (|u| + a) / length [1/s] over the cells of engine `start` of s: the step is the CFL number over it."""
    u, a, inv_dx = w[U], w[A], geo[INV_DX]
    t0 = t1 = t2 = t3 = NIL  # four rows of comparisons that need not wait for each other
    whole = (u.size - start) // (4 * s) * 4 * s + start
    for k in range(start, whole, 4 * s):
        t0 = max(t0, (abs(u[k]) + a[k]) * inv_dx[k])
        t1 = max(t1, (abs(u[k + s]) + a[k + s]) * inv_dx[k + s])
        t2 = max(t2, (abs(u[k + 2 * s]) + a[k + 2 * s]) * inv_dx[k + 2 * s])
        t3 = max(t3, (abs(u[k + 3 * s]) + a[k + 3 * s]) * inv_dx[k + 3 * s])
    for k in range(whole, u.size, s):
        t0 = max(t0, (abs(u[k]) + a[k]) * inv_dx[k])
    return max(max(t0, t1), max(t2, t3))


@compiled()
def unphysical_cells(q: FloatArray, w: FloatArray) -> int:
    """Number of cells whose density or pressure is not a positive number; anything but 0 ends the calculation."""
    rho, p = q[RHO], w[P]
    good = 0
    for k in range(rho.size):
        good += (rho[k] > NIL) & (p[k] > NIL)
    return rho.size - good


@compiled(inline="always")
def clipped(x: float, bound: float) -> float:
    """Return x, but no further from zero than bound."""
    return max(-bound, min(bound, x))


@compiled(inline="always")
def limited(back: float, ahead: float) -> float:
    """Monotonized-central slope (van Leer 1977): central, at most twice either side, 0 at an extremum."""
    bound = TWO * min(abs(back), abs(ahead))
    return clipped(HALF * (back + ahead), bound) if back * ahead > NIL else NIL


@compiled(inline="always")
def limited_contact(back: float, ahead: float, steep: float) -> float:
    """Slope of what the gas carries along: as `limited`, but the steepest allowed where both steps exceed steep.

    A contact, unlike a shock, has no tendency to steepen by itself, so what it smears out stays smeared out.
    """
    least = min(abs(back), abs(ahead))
    mean = HALF * (back + ahead)
    wanted = mean * THOUSAND if least > steep else mean
    return clipped(wanted, TWO * least) if back * ahead > NIL else NIL


@compiled()
def find_slopes(q: FloatArray, w: FloatArray, slope: FloatArray, s: int) -> None:
    """Limited differences across each cell of density, velocity, pressure and fresh fraction. s : stride.

    Correct for cells with a neighbour in the same duct on both sides; the ends of a duct are done by
    `slopes_at_end`. The first and last s cells of the array are left alone.
    """
    n = q.shape[1]
    r0, r1, r2 = q[RHO, : n - 2 * s], q[RHO, s : n - s], q[RHO, 2 * s :]
    u0, u1, u2 = w[U, : n - 2 * s], w[U, s : n - s], w[U, 2 * s :]
    p0, p1, p2 = w[P, : n - 2 * s], w[P, s : n - s], w[P, 2 * s :]
    y0, y1, y2 = w[Y, : n - 2 * s], w[Y, s : n - s], w[Y, 2 * s :]
    a1 = w[A, s : n - s]
    d_rho, d_u, d_p, d_y = slope[0, s : n - s], slope[1, s : n - s], slope[2, s : n - s], slope[3, s : n - s]
    for k in range(r1.size):
        share = ONE / (r1[k] * a1[k])  # one division for both ratios
        inv_a = r1[k] * share
        z = r1[k] * inv_a  # along a sound wave d(rho) = z d(u) = d(p) / a^2
        i2 = inv_a * inv_a
        br, bu, bp = r1[k] - r0[k], z * (u1[k] - u0[k]), i2 * (p1[k] - p0[k])
        ar, au, ap = r2[k] - r1[k], z * (u2[k] - u1[k]), i2 * (p2[k] - p1[k])
        plus = limited(HALF * (bp + bu), HALF * (ap + au))
        minus = limited(HALF * (bp - bu), HALF * (ap - au))
        still = limited_contact(br - bp, ar - ap, STEEP_CONTACT * r1[k])
        d_rho[k] = clipped(plus + minus + still, STEEPEST * r1[k])
        d_u[k] = (plus - minus) * (a1[k] * a1[k] * share)
        d_p[k] = clipped((plus + minus) * a1[k] * a1[k], STEEPEST * p1[k])
        d_y[k] = limited_contact(y1[k] - y0[k], y2[k] - y1[k], STEEP_SHARE)


@compiled(inline="always")
def lesser(near: float, far: float) -> float:
    """The smaller of two differences of one sign, 0 when their signs differ."""
    return (near if abs(near) < abs(far) else far) if near * far > NIL else NIL


@compiled()
def slopes_at_end(q: FloatArray, w: FloatArray, slope: FloatArray, k: int, inward: int, wall: bool) -> None:
    """Slopes in the last cell k of a duct, from the two cells behind it; k + inward is its neighbour.

    wall : at a closed end the mirror image continues the duct, so density, pressure and fresh fraction level off
    and the velocity falls to zero at the face.
    """
    j, i = k + inward, k + 2 * inward
    sign = 1.0 if inward > 0 else -1.0
    if wall:
        slope[D_RHO, k] = slope[D_P, k] = slope[D_Y, k] = 0.0
        slope[D_U, k] = sign * limited(2.0 * w[U, k], w[U, j] - w[U, k])
        return
    d_rho = lesser(q[RHO, j] - q[RHO, k], q[RHO, i] - q[RHO, j])
    d_p = lesser(w[P, j] - w[P, k], w[P, i] - w[P, j])
    slope[D_RHO, k] = sign * clipped(d_rho, STEEPEST * q[RHO, k])
    slope[D_P, k] = sign * clipped(d_p, STEEPEST * w[P, k])
    slope[D_U, k] = sign * lesser(w[U, j] - w[U, k], w[U, i] - w[U, j])
    slope[D_Y, k] = sign * lesser(w[Y, j] - w[Y, k], w[Y, i] - w[Y, j])


@compiled(inline="always")
def onward(near: float, far: float) -> float:
    """Difference across the last cell on a straight line through two; between 0 and twice near, 0 at an extremum."""
    line = near + HALF * (near - far)
    return clipped(line, TWO * abs(near)) if near * far > NIL and line * near > NIL else NIL


@compiled(inline="always")
def inward_slopes(
    rho: tuple[float, float, float],
    u: tuple[float, float, float],
    p: tuple[float, float, float],
    y: tuple[float, float, float],
    a: float,
    speed_in: float,
    volume: tuple[float, float, float, float],
) -> tuple[float, float, float, float]:
    """Differences across the last cell of a duct that meets a volume, taken inward, in the order of slope.

    Sound and what leaves go on in straight lines. What enters is known before it fills a cell: it has the fresh share
    and the total enthalpy of the volume, so a front that comes in is sharp from its first cell on.

    rho, u, p, y : density [kg/m^3], velocity [m/s], pressure [Pa], fresh share [-] of the last cell, its neighbour and
        the one behind; a : sound speed in the last cell [m/s]
    speed_in : velocity there, into the duct [m/s], 0 where nothing can come in
    volume : its temperature [K], fresh share [-], gamma [-], gas constant [J/(kg K)]
    """
    t_v, y_v, g_v, r_v = volume
    z = rho[0] * a
    near_u, far_u = z * (u[1] - u[0]), z * (u[2] - u[1])
    near_p, far_p = p[1] - p[0], p[2] - p[1]
    plus = onward(HALF * (near_p + near_u), HALF * (far_p + far_u))
    minus = onward(HALF * (near_p - near_u), HALF * (far_p - far_u))
    d_p = clipped(plus + minus, STEEPEST * p[0])
    inv_a2 = ONE / (a * a)
    near, far = rho[1] - rho[0] - inv_a2 * near_p, rho[2] - rho[1] - inv_a2 * far_p
    near_y, far_y = y[1] - y[0], y[2] - y[1]
    # the bound is for velocities that no nozzle gives: at the speed of sound 0.83 t_v is left, 2 / (gamma + 1)
    t_in = max(t_v - HALF * speed_in * speed_in * (ONE - ONE / g_v) / r_v, HALF * t_v)
    enters = speed_in > NIL
    still = limited(TWO * (rho[0] - p[0] / (r_v * t_in)), near) if enters else onward(near, far)
    d_y = limited(TWO * (y[0] - y_v), near_y) if enters else onward(near_y, far_y)
    return clipped(inv_a2 * d_p + still, STEEPEST * rho[0]), (plus - minus) / z, d_p, d_y


@compiled()
def slopes_at_mouth(
    q: FloatArray,
    w: FloatArray,
    slope: FloatArray,
    k: int,
    inward: int,
    shut: bool,
    volume: tuple[float, float, float, float],
) -> None:
    """As `slopes_at_end`, where a duct meets a volume, see `inward_slopes`; shut : whether nothing can come in."""
    j, i = k + inward, k + 2 * inward
    sign = 1.0 if inward > 0 else -1.0
    d_rho, d_u, d_p, d_y = inward_slopes(
        (q[RHO, k], q[RHO, j], q[RHO, i]),
        (w[U, k], w[U, j], w[U, i]),
        (w[P, k], w[P, j], w[P, i]),
        (w[Y, k], w[Y, j], w[Y, i]),
        w[A, k],
        0.0 if shut else sign * w[U, k],
        volume,
    )
    slope[D_RHO, k], slope[D_U, k], slope[D_P, k], slope[D_Y, k] = sign * d_rho, sign * d_u, sign * d_p, sign * d_y


@compiled()
def predict(q: FloatArray, w: FloatArray, geo: FloatArray, dt: FloatArray, slope: FloatArray, mid: FloatArray) -> None:
    """Fill mid: density, velocity, pressure and fresh fraction half a time step dt [s], shape (n,), later.

    The middle is kept so high that no edge falls below LEAST_EDGE of the value in the cell (strong expansions).
    """
    rho, u_in, p_in, t_in, y_in, a_in, g_in = q[RHO], w[U], w[P], w[T], w[Y], w[A], w[G]
    inv_dx, spread, friction, heat, wall = geo[INV_DX], geo[SPREAD], geo[FRICTION], geo[HEAT], geo[T_WALL]
    d_rho, d_u, d_p, d_y = slope[D_RHO], slope[D_U], slope[D_P], slope[D_Y]
    rm, um, pm, ym = mid[D_RHO], mid[D_U], mid[D_P], mid[D_Y]
    for k in range(rho.size):
        r, u, p, a = rho[k], u_in[k], p_in[k], a_in[k]
        dr, du, dp = d_rho[k], d_u[k], d_p[k]
        half = HALF * dt[k]
        lam = half * inv_dx[k]
        drag = half * friction[k] * abs(u)
        stretch = lam * du + half * spread[k] * u
        a2 = a * a
        warm = drag * u * u / g_in[k] + half * heat[k] * abs(u) * a2 * (wall[k] / t_in[k] - ONE)
        later_r = r - lam * u * dr - stretch * r
        later_p = p - lam * u * dp - (stretch * a2 - warm) * r
        rm[k] = max(later_r, HALF * abs(dr) + LEAST_EDGE * r)
        um[k] = u - lam * (u * du + dp / r) - drag * u
        pm[k] = max(later_p, HALF * abs(dp) + LEAST_EDGE * p)
        ym[k] = y_in[k] - lam * u * d_y[k]


@compiled()
def exchange(w: FloatArray, slope: FloatArray, mid: FloatArray, flux: FloatArray, s: int) -> None:
    """HLLC flux through every face between two cells, from the states on its two sides at mid-step. s : stride."""
    n = flux.shape[1]
    rm0, um0, pm0, ym0 = mid[0, : n - s], mid[1, : n - s], mid[2, : n - s], mid[3, : n - s]
    rs0, us0, ps0, ys0 = slope[0, : n - s], slope[1, : n - s], slope[2, : n - s], slope[3, : n - s]
    rm1, um1, pm1, ym1 = mid[0, s:], mid[1, s:], mid[2, s:], mid[3, s:]
    rs1, us1, ps1, ys1 = slope[0, s:], slope[1, s:], slope[2, s:], slope[3, s:]
    a0, g0, h0, k0 = w[A, : n - s], w[G, : n - s], w[H, : n - s], w[K, : n - s]
    a1, g1, h1, k1 = w[A, s:], w[G, s:], w[H, s:], w[K, s:]
    f_mass, f_mom, f_ene, f_fre = flux[RHO, s:], flux[MOM, s:], flux[ENE, s:], flux[FRE, s:]
    for k in range(f_mass.size):
        rl, ul, yl = rm0[k] + HALF * rs0[k], um0[k] + HALF * us0[k], ym0[k] + HALF * ys0[k]
        rr, ur, yr = rm1[k] - HALF * rs1[k], um1[k] - HALF * us1[k], ym1[k] - HALF * ys1[k]
        pl, pr = pm0[k] + HALF * ps0[k], pm1[k] - HALF * ps1[k]
        el = g0[k] * pl + rl * (h0[k] + k0[k] * yl + HALF * ul * ul)
        er = g1[k] * pr + rr * (h1[k] + k1[k] * yr + HALF * ur * ur)
        mass, mom, ene, fre = hllc(rl, ul, pl, el, a0[k], yl, rr, ur, pr, er, a1[k], yr)
        f_mass[k], f_mom[k], f_ene[k], f_fre[k] = mass, mom, ene, fre


@compiled()
def advance(
    q: FloatArray, w: FloatArray, geo: FloatArray, dt: FloatArray, mid: FloatArray, flux: FloatArray, s: int
) -> None:
    """Add the fluxes and the sources of one step dt [s], shape (n,), to q. Friction and heat act at mid-step.

    The pressure force of the widening wall uses the mid-step pressure p of the cell and is folded into the
    momentum flux as A (flux - p), so equal pressure everywhere gives exactly no force. Friction is implicit in the
    momentum and leaves the total energy alone: what the wall slows down becomes heat in the gas.
    """
    n = q.shape[1] - s
    rho, mom, ene, fre = q[RHO, :n], q[MOM, :n], q[ENE, :n], q[FRE, :n]
    t_in, a_in, g_in = w[T, :n], w[A, :n], w[G, :n]
    inv_vol, area0, area1 = geo[INV_VOL, :n], geo[AREA, :n], geo[AREA, s:]
    friction, heat, wall = geo[FRICTION, :n], geo[HEAT, :n], geo[T_WALL, :n]
    u_mid, p_mid = mid[D_U, :n], mid[D_P, :n]
    mass0, mom0, ene0, fre0 = flux[RHO, :n], flux[MOM, :n], flux[ENE, :n], flux[FRE, :n]
    mass1, mom1, ene1, fre1 = flux[RHO, s:], flux[MOM, s:], flux[ENE, s:], flux[FRE, s:]
    for k in range(n):
        c = dt[k] * inv_vol[k]
        into, out = c * area0[k], c * area1[k]
        speed = dt[k] * abs(u_mid[k])
        drag = HALF * friction[k] * speed
        cp = a_in[k] * a_in[k] * g_in[k] / t_in[k]  # of a gas with a^2 = (1 + 1/g) R T and cp = (1 + g) R
        warm = heat[k] * speed * rho[k] * cp * (wall[k] - t_in[k])
        push = mom[k] + into * (mom0[k] - p_mid[k]) - out * (mom1[k] - p_mid[k])
        mom[k] = (push - drag * mom[k]) / (ONE + drag)
        rho[k] += into * mass0[k] - out * mass1[k]
        ene[k] += into * ene0[k] - out * ene1[k] + warm
        fre[k] += into * fre0[k] - out * fre1[k]
