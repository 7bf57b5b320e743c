"""Duct ends of LANES engines at once, so that the compiler can solve all of them in one stroke of wide registers.

The same meeting as `boundaries.nozzle_end`, written without early returns and without calls into a mathematical
library: what differs between engines is chosen, not branched to. Numbers of the LANES engines lie beside each other in
one flat room, row r of it at r * LANES; a compiler then sees without asking that rows are apart. A result does not
depend on its neighbours: whoever is solved stands still while others are tried again. tests/kernels/test_abreast.py
holds it against `nozzle_end` to 1e-12.
"""

import math

from numba import njit

from scribeline.kernels.boundaries import CLOSE, MOST_TRIALS, SHUT
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
    STEEPEST,
    A,
    G,
    H,
    K,
    P,
    U,
    Y,
    clipped,
    exchange,
    find_slopes,
    lesser,
    predict,
    slopes_at_end,
)
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

LANES = 8  # numbers in the widest registers
LN2 = math.log(2.0)

# rows of the room: the state at the face, the gas law, openings, the volume, the onward hint
_RHO, _U, _P, _Y, _G, _H, _K, _OUT, _IN = 0, 1, 2, 3, 4, 5, 6, 7, 8
_PV, _TV, _YV, _GV, _RV, _HV, _HINT = 9, 10, 11, 12, 13, 14, 15
# known before the first trial: outward (1 or 0), opening, gamma, sound speed, inverses of density, pressure and G + 1,
# (p_v/p)^((g-1)/2g), guess, goal; of a volume gas comes from: 1/(g-1), 1/cp, 1/density, fastest speed; whether it may
# leave at the speed of sound
_OUTWARD, _OPEN, _GAMMA, _A0, _INV_RHO, _INV_P, _INV_G1, _ZBACK, _GUESS, _GOAL = 16, 17, 18, 19, 20, 21, 22, 23, 24, 25
_PART_V, _INV_CP, _INV_RHO_V, _MOST_V, _FAST = 26, 27, 28, 29, 30
# the search: bracket, unknown, last move, still to be solved (1 or 0), state found at the face
_LOW, _HIGH, _S, _LAST, _BUSY, _RF, _UF, _PF = 31, 32, 33, 34, 35, 36, 37, 38
# one trial: surplus, slope, state at the face and its slopes, whether it is choked, sound speed squared
_F, _DF, _TR, _TU, _TP, _DR, _DU, _DP, _CHOKED, _A2 = 39, 40, 41, 42, 43, 44, 45, 46, 47, 48
_MASS, _MOM, _ENE, _FRE, _NEXT = 49, 50, 51, 52, 53
# slopes at an end: three cells of density, velocity, pressure, fresh fraction, then four slopes
_CELLS, _SLOPES = 0, 12
ROOM = 54 * LANES


@njit(cache=True, inline="always", error_model="numpy", fastmath={"contract"})
def logarithm(x: float) -> float:
    """Natural logarithm of a number within 2^31 either way, without branches or calls; to 1e-15 of 1 or of itself.

    Powers of two are taken out until the rest is near 1, then its series in (a - 1)/(a + 1).

    >>> abs(float(logarithm(0.3)) - math.log(0.3)) < 2e-15
    True
    """
    a, e = x, 0.0
    up, down = a < 2.0**-15.5, a > 2.0**15.5
    a, e = a * (65536.0 if up else 2.0**-16 if down else 1.0), e - (16.0 if up else -16.0 if down else 0.0)
    up, down = a < 2.0**-7.5, a > 2.0**7.5
    a, e = a * (256.0 if up else 2.0**-8 if down else 1.0), e - (8.0 if up else -8.0 if down else 0.0)
    up, down = a < 2.0**-3.5, a > 2.0**3.5
    a, e = a * (16.0 if up else 0.0625 if down else 1.0), e - (4.0 if up else -4.0 if down else 0.0)
    up, down = a < 2.0**-1.5, a > 2.0**1.5
    a, e = a * (4.0 if up else 0.25 if down else 1.0), e - (2.0 if up else -2.0 if down else 0.0)
    up, down = a < 2.0**-0.5, a > 2.0**0.5
    a, e = a * (2.0 if up else 0.5 if down else 1.0), e - (1.0 if up else -1.0 if down else 0.0)
    y = (a - 1.0) / (a + 1.0)
    z = y * y
    series = 1.0 / 17.0 + z * (1.0 / 19.0 + z * (1.0 / 21.0))
    series = 1.0 / 9.0 + z * (1.0 / 11.0 + z * (1.0 / 13.0 + z * (1.0 / 15.0 + z * series)))
    series = 1.0 + z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * series)))
    return e * LN2 + 2.0 * y * series


@njit(cache=True, inline="always", error_model="numpy", fastmath={"contract"})
def exponential(x: float) -> float:
    """e^x for x within 40 either way, without branches or calls, to 1e-14, near 0 to 2e-16.

    The series of e^t - 1 for t = x/256, then doubled eight times: (1 + y)^2 - 1 = y (2 + y).

    >>> abs(float(exponential(-3.7)) / math.exp(-3.7) - 1.0) < 2e-15
    True
    """
    t = x * 0.00390625
    y = 1.0 / 5040.0 + t * (1.0 / 40320.0 + t * (1.0 / 362880.0 + t * (1.0 / 3628800.0)))
    y = 1.0 / 120.0 + t * (1.0 / 720.0 + t * y)
    y = t * (1.0 + t * (0.5 + t * (1.0 / 6.0 + t * (1.0 / 24.0 + t * y))))
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    y *= 2.0 + y
    return 1.0 + y * (2.0 + y)


@njit(cache=True, inline="always", error_model="numpy", fastmath={"contract"})
def power(base: float, exponent: float) -> float:
    """base^exponent of a positive number, without branches or calls; see `logarithm` and `exponential`.

    >>> abs(float(power(0.3, 3.7)) / 0.3**3.7 - 1.0) < 2e-15
    True
    """
    return exponential(exponent * logarithm(base))


@njit(cache=True, error_model="numpy")
def together(x: FloatArray, row: int) -> float:
    """A row of the room added up; in a loop of its own, as a sum keeps a loop from being done in one stroke."""
    total = 0.0
    for b in range(LANES):
        total += x[row * LANES + b]
    return total


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def slopes_at_ends(q: FloatArray, w: FloatArray, slope: FloatArray, ends: IntArray, i: int, x: FloatArray) -> None:
    """As `duct.slopes_at_end` at open end i of LANES engines; ends and x as in `fluxes`."""
    inward = ends[0, i, INWARD]
    for b in range(LANES):
        for j in range(3):
            k = (ends[b, i, CELL] + j * inward) * LANES + b
            x[(_CELLS + j) * LANES + b] = q[RHO, k]
            x[(_CELLS + 3 + j) * LANES + b] = w[U, k]
            x[(_CELLS + 6 + j) * LANES + b] = w[P, k]
            x[(_CELLS + 9 + j) * LANES + b] = w[Y, k]
    sign = 1.0 if inward > 0 else -1.0
    for b in range(LANES):
        r0, r1, r2 = x[b], x[LANES + b], x[2 * LANES + b]
        u0, u1, u2 = x[3 * LANES + b], x[4 * LANES + b], x[5 * LANES + b]
        p0, p1, p2 = x[6 * LANES + b], x[7 * LANES + b], x[8 * LANES + b]
        y0, y1, y2 = x[9 * LANES + b], x[10 * LANES + b], x[11 * LANES + b]
        x[12 * LANES + b] = sign * clipped(lesser(r1 - r0, r2 - r1), STEEPEST * r0)
        x[13 * LANES + b] = sign * lesser(u1 - u0, u2 - u1)
        x[14 * LANES + b] = sign * clipped(lesser(p1 - p0, p2 - p1), STEEPEST * p0)
        x[15 * LANES + b] = sign * lesser(y1 - y0, y2 - y1)
    for b in range(LANES):
        k = ends[b, i, CELL] * LANES + b
        for r in range(4):
            slope[r, k] = x[(_SLOPES + r) * LANES + b]


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def prepare(x: FloatArray) -> float:
    """From the states and openings in the room what is known before the first trial; returns how many are unsolved.

    Sets the face pressure of ends that are shut or at rest with the volume, which need no solution. Divisions are what
    these functions wait for, so inverses are kept: with G = 1/(g - 1) of the duct's gas, g + 1 = 2 + 1/G and so on.
    """
    for b in range(LANES):
        rho, u, p, g = x[_RHO * LANES + b], x[_U * LANES + b], x[_P * LANES + b], x[_G * LANES + b]
        p_v, t_v, g_v, r_v = x[_PV * LANES + b], x[_TV * LANES + b], x[_GV * LANES + b], x[_RV * LANES + b]
        opening_out, opening_in, hint = x[_OUT * LANES + b], x[_IN * LANES + b], x[_HINT * LANES + b]
        share = 1.0 / (rho * p)
        inv_rho, inv_p = p * share, rho * share
        gamma, inv_g1 = 1.0 + 1.0 / g, 1.0 / (g + 1.0)
        a0 = math.sqrt(gamma * p * inv_rho)
        inv_a0 = 1.0 / a0
        m = u * inv_a0
        h = 0.25 * (gamma + 1.0) * m
        struck = p * (1.0 + gamma * m * (h + math.sqrt(1.0 + h * h)))
        thinned = p * power(max(min(1.0 + 0.5 * (gamma - 1.0) * m, 1.0), 1e-4), 2.0 * (g + 1.0))
        p_w = struck if m > 0.0 else thinned
        outward = p_w > p_v
        opening = min(opening_out if outward else opening_in, 1.0)
        span = abs(p_w - p_v)
        idle = (opening < SHUT) | (span <= 1e-15 * p_v)
        share = 1.0 / (p_v * (g_v - 1.0) * g_v)
        part_v = p_v * g_v * share
        part = inv_g1 if outward else (g_v - 1.0) * (g_v - 1.0) * p_v * share
        rt = r_v * t_v
        inv_rho_v = rt * (g_v - 1.0) * g_v * share
        rho_up = rho if outward else p_v / rt
        inv_rho_up = inv_rho if outward else inv_rho_v
        # first guess from small waves: |p_f - p_v| = x^2 span with x^2 + k x = 1, as a fall of temperature
        safe = max(span, 1e-300)
        wave = safe * inv_a0
        throat = opening * math.sqrt(2.0 * rho_up * safe)
        k = throat * a0 / safe
        root = 2.0 / (k + math.sqrt(k * k + 4.0))
        step = root * root * span
        cool = 2.0 * part * step / (p_v + p_v + (step if outward else -step))
        guess = math.sqrt(cool / (1.0 + 0.5 * cool))
        x[_OUTWARD * LANES + b] = 1.0 if outward else 0.0
        x[_OPEN * LANES + b], x[_GAMMA * LANES + b], x[_A0 * LANES + b] = opening, gamma, a0
        x[_INV_RHO * LANES + b], x[_INV_P * LANES + b], x[_INV_G1 * LANES + b] = inv_rho, inv_p, inv_g1
        x[_GUESS * LANES + b] = guess
        x[_GOAL * LANES + b] = (1e-7 * min(wave, throat) + 1e-14 * rho * a0) * inv_rho_up
        x[_ZBACK * LANES + b] = power(min(max(p_v * inv_p, 3e-5), 1.0), 0.5 * inv_g1)
        x[_PART_V * LANES + b], x[_INV_RHO_V * LANES + b] = part_v, inv_rho_v
        x[_INV_CP * LANES + b] = 1.0 / (g_v * part_v * r_v)
        x[_MOST_V * LANES + b] = math.sqrt(2.0 * g_v * part_v * rt)
        x[_LOW * LANES + b], x[_HIGH * LANES + b], x[_LAST * LANES + b] = 0.0, 1.0, 1.0
        s = max(min(hint * guess, 0.99), 0.0)
        x[_S * LANES + b] = 0.0 if outward & (opening >= 1.0) else s  # an open end: nothing stands in the way
        # only a strong expansion or a fast stream can reach the speed of sound before it reaches the pressure outside
        fast = outward & (p_v < p) & ((p_v < 0.45 * p) | (m > 0.3))
        x[_FAST * LANES + b] = 1.0 if fast & (not idle) else 0.0
        x[_RF * LANES + b], x[_UF * LANES + b], x[_PF * LANES + b] = rho, 0.0, p_w
        x[_BUSY * LANES + b] = 0.0 if idle else 1.0
    return together(x, _BUSY)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def bound_sonic(x: FloatArray) -> None:
    """Lower end of the bracket where gas can leave at the speed of sound before it has the pressure outside."""
    for b in range(LANES):
        u, p, p_v = x[_U * LANES + b], x[_P * LANES + b], x[_PV * LANES + b]
        gamma, g, s = x[_GAMMA * LANES + b], x[_G * LANES + b], x[_S * LANES + b]
        z = (gamma - 1.0) / (gamma + 1.0) * (u / x[_A0 * LANES + b] + 2.0 * g)
        p_s = min(p * power(min(max(z, 0.01), 8.0), 2.0 * (g + 1.0)), p)
        bound = (x[_FAST * LANES + b] > 0.0) & (p_s > p_v)
        ratio = min(max(p_v / max(p_s, 1e-300), 3e-5), 1.0)
        low = math.sqrt(1.0 - power(ratio, x[_INV_G1 * LANES + b])) if bound else 0.0
        x[_LOW * LANES + b] = low
        x[_S * LANES + b] = low if bound & (x[_OPEN * LANES + b] >= 1.0) else max(s, low)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def try_leaving(x: FloatArray) -> None:
    """One trial of flow out of the duct for all; see `boundaries.leaving`. Written only where gas flows out."""
    for b in range(LANES):
        rho, u, p, g = x[_RHO * LANES + b], x[_U * LANES + b], x[_P * LANES + b], x[_G * LANES + b]
        gamma, opening, p_back = x[_GAMMA * LANES + b], x[_OPEN * LANES + b], x[_PV * LANES + b]
        a0, inv_rho, s = x[_A0 * LANES + b], x[_INV_RHO * LANES + b], x[_S * LANES + b]
        fall = s * s
        rest = 1.0 - fall
        thinner = power(rest, g)  # throat over face
        share = 1.0 / (rest * thinner)
        inv_rest, p_f = thinner * share, p_back * share
        p_slope = 2.0 * gamma * g * s * p_f * inv_rest
        over, under = (gamma + 1.0) * p_f + (gamma - 1.0) * p, (gamma - 1.0) * p_f + (gamma + 1.0) * p
        share = 1.0 / (over * under)
        inv_over, inv_under = under * share, over * share
        root = math.sqrt(2.0 * inv_rho * inv_over)
        a_f = a0 * x[_ZBACK * LANES + b] * math.sqrt(inv_rest)
        gp, a2_thin = gamma * p_f, a_f * a_f
        share = 1.0 / (gp * a2_thin)
        inv_gp = a2_thin * share
        shock = p_f > p
        change = (p_f - p) * root if shock else 2.0 * g * (a_f - a0)
        rho_f = rho * over * inv_under if shock else gp * gp * share
        resist = root * (1.0 - 0.5 * (gamma + 1.0) * (p_f - p) * inv_over) if shock else a_f * inv_gp
        a2 = gp * under * inv_rho * inv_over if shock else a2_thin
        inv_a2 = rho_f * inv_gp
        u_f = u - change
        u_slope = -resist * p_slope
        u2 = u_f * u_f + 2.0 * g * a2 * fall  # in the throat, if the gas expands all the way
        u_t = math.sqrt(max(u2, 1e-300))
        passes = opening * u_t * thinner
        run = (u_f * u_slope + g * (2.0 * s * a2 * inv_rest * fall + 2.0 * s * a2)) / u_t if u2 > 0.0 else 0.0
        slope = opening * run * thinner - 2.0 * g * s * passes * inv_rest
        mine = x[_OUTWARD * LANES + b] > 0.0
        choked = mine & (u2 > a2 * rest) & (x[_BUSY * LANES + b] > 0.0)
        x[_F * LANES + b] = u_f - passes if mine else x[_F * LANES + b]
        x[_DF * LANES + b] = u_slope - slope if mine else x[_DF * LANES + b]
        x[_TR * LANES + b] = rho_f if mine else x[_TR * LANES + b]
        x[_TU * LANES + b] = u_f if mine else x[_TU * LANES + b]
        x[_TP * LANES + b] = p_f if mine else x[_TP * LANES + b]
        x[_DR * LANES + b] = p_slope * inv_a2 if mine else x[_DR * LANES + b]
        x[_DU * LANES + b] = u_slope if mine else x[_DU * LANES + b]
        x[_DP * LANES + b] = p_slope if mine else x[_DP * LANES + b]
        x[_CHOKED * LANES + b], x[_A2 * LANES + b] = 1.0 if choked else 0.0, a2
    if together(x, _CHOKED) > 0.0:
        choke_leaving(x)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def choke_leaving(x: FloatArray) -> None:
    """Put in what a throat lets through that stays at the speed of sound, where a trial of flow out asked for more."""
    for b in range(LANES):
        gamma, g, a2, s = x[_GAMMA * LANES + b], x[_G * LANES + b], x[_A2 * LANES + b], x[_S * LANES + b]
        u_f, u_slope = x[_TU * LANES + b], x[_DU * LANES + b]
        a2_slope = 2.0 * s * a2 / (1.0 - s * s)
        rise = 0.5 * (gamma - 1.0) * u_f * u_f / a2  # of temperature when brought to rest
        exponent = 0.5 * (gamma + 1.0) * g
        passes = x[_OPEN * LANES + b] * math.sqrt(a2)
        passes *= power(min(2.0 * (1.0 + rise) / (gamma + 1.0), 3e4), exponent)
        rise_slope = ((gamma - 1.0) * u_f * u_slope - rise * a2_slope) / a2
        slope = passes * (0.5 * a2_slope / a2 + exponent * rise_slope / (1.0 + rise))
        mine = x[_CHOKED * LANES + b] > 0.0
        x[_F * LANES + b] = u_f - passes if mine else x[_F * LANES + b]
        x[_DF * LANES + b] = u_slope - slope if mine else x[_DF * LANES + b]


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def try_entering(x: FloatArray) -> None:
    """One trial of flow into the duct for all; see `boundaries.entering`. Written only where gas flows in."""
    for b in range(LANES):
        u, p, g, gamma = x[_U * LANES + b], x[_P * LANES + b], x[_G * LANES + b], x[_GAMMA * LANES + b]
        opening, a0 = x[_OPEN * LANES + b], x[_A0 * LANES + b]
        p0, t0, g0, r0 = x[_PV * LANES + b], x[_TV * LANES + b], x[_GV * LANES + b], x[_RV * LANES + b]
        part, inv_cp, inv_rho0 = x[_PART_V * LANES + b], x[_INV_CP * LANES + b], x[_INV_RHO_V * LANES + b]
        s = x[_S * LANES + b]
        fall = s * s
        rest = 1.0 - fall
        inv_rest = 1.0 / rest
        thinner = power(rest, part)  # throat over upstream
        p_f = p0 * rest * thinner
        p_steep = -2.0 * g0 * part * s * inv_rest  # slope over pressure
        p_slope = p_steep * p_f
        over, gp = (gamma + 1.0) * p_f + (gamma - 1.0) * p, gamma * p_f
        share = 1.0 / (over * gp)
        inv_over = gp * share
        root = math.sqrt(2.0 * x[_INV_RHO * LANES + b] * inv_over)
        z = power(min(max(p_f * x[_INV_P * LANES + b], 3e-5), 3e4), 0.5 * x[_INV_G1 * LANES + b])
        shock = p_f > p
        change = (p_f - p) * root if shock else 2.0 * g * a0 * (z - 1.0)
        resist = root * (1.0 - 0.5 * (gamma + 1.0) * (p_f - p) * inv_over) if shock else a0 * z * over * share
        inward = change - u
        u_slope = resist * p_slope
        t_f = t0 - 0.5 * inward * inward * inv_cp
        far = t_f < 0.3 * t0  # far beyond sound, on the way to the solution only
        t_slope = 0.0 if far else -inward * u_slope * inv_cp
        t_f = 0.3 * t0 if far else t_f
        share = 1.0 / (r0 * t_f)
        rho_f = p_f * share
        rho_slope = rho_f * (p_steep - t_slope * r0 * share)
        most = opening * x[_MOST_V * LANES + b] * thinner
        mine = x[_OUTWARD * LANES + b] == 0.0
        choked = mine & (fall * (g0 + 1.0) > g0 - 1.0) & (x[_BUSY * LANES + b] > 0.0)
        surplus = rho_f * inward * inv_rho0
        rises = (rho_slope * inward + rho_f * u_slope) * inv_rho0
        x[_F * LANES + b] = surplus - s * most if mine else x[_F * LANES + b]
        x[_DF * LANES + b] = rises - most + 2.0 * part * fall * most * inv_rest if mine else x[_DF * LANES + b]
        x[_TR * LANES + b] = rho_f if mine else x[_TR * LANES + b]
        x[_TU * LANES + b] = -inward if mine else x[_TU * LANES + b]
        x[_TP * LANES + b] = p_f if mine else x[_TP * LANES + b]
        x[_DR * LANES + b] = rho_slope if mine else x[_DR * LANES + b]
        x[_DU * LANES + b] = -u_slope if mine else x[_DU * LANES + b]
        x[_DP * LANES + b] = p_slope if mine else x[_DP * LANES + b]
        x[_CHOKED * LANES + b] = 1.0 if choked else 0.0
    if together(x, _CHOKED) > 0.0:
        choke_entering(x)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def choke_entering(x: FloatArray) -> None:
    """Put in what a throat lets through that stays at the speed of sound, where a trial of flow in asked for more."""
    for b in range(LANES):
        u = x[_TU * LANES + b]
        g0, part, inv_rho0 = x[_GV * LANES + b], x[_PART_V * LANES + b], x[_INV_RHO_V * LANES + b]
        passes = x[_OPEN * LANES + b] * math.sqrt(g0 * x[_RV * LANES + b] * x[_TV * LANES + b])
        passes *= power(2.0 / (g0 + 1.0), 0.5 * (g0 + 1.0) * part)
        surplus = -x[_TR * LANES + b] * u * inv_rho0 - passes
        rises = -(x[_DR * LANES + b] * u + x[_TR * LANES + b] * x[_DU * LANES + b]) * inv_rho0
        mine = x[_CHOKED * LANES + b] > 0.0
        x[_F * LANES + b] = surplus if mine else x[_F * LANES + b]
        x[_DF * LANES + b] = rises if mine else x[_DF * LANES + b]


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def judge(x: FloatArray) -> float:
    """Take over the trial of whoever is still to be solved, and move its unknown; returns how many remain."""
    for b in range(LANES):
        busy = x[_BUSY * LANES + b] > 0.0
        s, f, low, high = x[_S * LANES + b], x[_F * LANES + b], x[_LOW * LANES + b], x[_HIGH * LANES + b]
        u_f = x[_TU * LANES + b]
        there = (abs(f) <= x[_GOAL * LANES + b]) | ((s == low) & (f <= 0.0)) | (high - low < 1e-14)
        low = s if f > 0.0 else low
        high = high if f > 0.0 else s
        move = -f / x[_DF * LANES + b]
        near = abs(x[_DU * LANES + b]) * move * move <= CLOSE * s * abs(u_f)
        along = move if near & (not there) else 0.0
        x[_RF * LANES + b] = x[_TR * LANES + b] + along * x[_DR * LANES + b] if busy else x[_RF * LANES + b]
        x[_UF * LANES + b] = u_f + along * x[_DU * LANES + b] if busy else x[_UF * LANES + b]
        x[_PF * LANES + b] = x[_TP * LANES + b] + along * x[_DP * LANES + b] if busy else x[_PF * LANES + b]
        done = there | near
        newton = (low < s + move) & (s + move < high) & (abs(move) < 0.7 * x[_LAST * LANES + b])
        on = s + move if newton else 0.5 * (low + high)
        by = abs(move) if newton else high - low
        x[_S * LANES + b] = (s + along if done else on) if busy else s
        x[_LAST * LANES + b] = by
        x[_LOW * LANES + b], x[_HIGH * LANES + b] = low, high
        x[_BUSY * LANES + b] = 1.0 if busy & (not done) else 0.0
    return together(x, _BUSY)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def bound_jets(x: FloatArray) -> None:
    """Hold a jet into the duct at the speed of sound: what the duct does no longer matters at the face then."""
    for b in range(LANES):
        t_v, g_v, r_v = x[_TV * LANES + b], x[_GV * LANES + b], x[_RV * LANES + b]
        t_sonic = 2.0 * t_v / (g_v + 1.0)
        sonic = math.sqrt(g_v * r_v * t_sonic)
        flow = x[_PV * LANES + b] * math.sqrt(g_v / (r_v * t_v))
        rho_f = x[_OPEN * LANES + b] * flow * power(2.0 / (g_v + 1.0), 0.5 * (g_v + 1.0) / (g_v - 1.0)) / sonic
        jet = x[_CHOKED * LANES + b] > 0.0
        x[_RF * LANES + b] = rho_f if jet else x[_RF * LANES + b]
        x[_UF * LANES + b] = -sonic if jet else x[_UF * LANES + b]
        x[_PF * LANES + b] = rho_f * r_v * t_sonic if jet else x[_PF * LANES + b]


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def conclude(x: FloatArray) -> None:
    """From the state at the face the fluxes out of the duct per area, and the hint for the next step."""
    for b in range(LANES):
        g_v, u_f = x[_GV * LANES + b], x[_UF * LANES + b]
        sonic2 = 2.0 * g_v * x[_RV * LANES + b] * x[_TV * LANES + b]  # speed of sound squared, times g + 1
        beyond = (x[_OUTWARD * LANES + b] == 0.0) & (u_f * u_f * (g_v + 1.0) > sonic2)
        x[_CHOKED * LANES + b] = 1.0 if beyond else 0.0
    if together(x, _CHOKED) > 0.0:
        bound_jets(x)
    for b in range(LANES):
        rho_f, u_f, p_f = x[_RF * LANES + b], x[_UF * LANES + b], x[_PF * LANES + b]
        g, h, k, y = x[_G * LANES + b], x[_H * LANES + b], x[_K * LANES + b], x[_Y * LANES + b]
        h_v, y_v, guess, s = x[_HV * LANES + b], x[_YV * LANES + b], x[_GUESS * LANES + b], x[_S * LANES + b]
        outward = x[_OUTWARD * LANES + b] > 0.0
        mass = rho_f * u_f
        total = (g * p_f + p_f) / rho_f + h + k * y + 0.5 * u_f * u_f
        x[_MASS * LANES + b], x[_MOM * LANES + b] = mass, mass * u_f + p_f
        x[_ENE * LANES + b], x[_FRE * LANES + b] = mass * (total if outward else h_v), mass * (y if outward else y_v)
        moved = (x[_OPEN * LANES + b] >= SHUT) & (guess > 0.0)
        x[_NEXT * LANES + b] = s / guess if moved else 1.0


@njit(cache=True, error_model="numpy")
def solve_ends(x: FloatArray, unsolved: IntArray) -> None:
    """Solve the ends whose states, openings, volumes and hints stand in the room; fluxes and hints come to stand there.

    unsolved : (LANES,), counts ends whose pressure was not found
    """
    left = prepare(x)
    if left > 0.0:
        if together(x, _FAST) > 0.0:
            bound_sonic(x)
        out = together(x, _OUTWARD)
        for _ in range(MOST_TRIALS):
            if out > 0.0:
                try_leaving(x)
            if out < LANES:
                try_entering(x)
            left = judge(x)
            if left == 0.0:
                break
        if left > 0.0:
            for b in range(LANES):
                unsolved[b] += 1 if x[_BUSY * LANES + b] > 0.0 else 0
    conclude(x)


@njit(cache=True, error_model="numpy")
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
    flows: FloatArray,
    unsolved: IntArray,
    dt: FloatArray,
    x: FloatArray,
) -> None:
    """Write the flux at every duct end of LANES engines, and what it brings to the volumes; see `network.flux_at_ends`.

    ends : (LANES, ends, 4); no walls and no free ends, and the same INWARD for all; x : (ROOM,), room to work in
    flows : (3, ends * LANES), the mass, energy and fresh mass that leave the ducts are added; dt : (cells * LANES,)
    """
    inflow[:] = 0.0
    for i in range(ends.shape[1]):
        outward = -1.0 if ends[0, i, INWARD] > 0 else 1.0
        half = 0.5 * outward
        at = i * LANES
        for b in range(LANES):
            k, v = ends[b, i, CELL] * LANES + b, ends[b, i, MEETS] * LANES + b
            x[_RHO * LANES + b] = mid[D_RHO, k] + half * slope[D_RHO, k]
            x[_U * LANES + b] = (mid[D_U, k] + half * slope[D_U, k]) * outward
            x[_P * LANES + b] = mid[D_P, k] + half * slope[D_P, k]
            x[_Y * LANES + b] = min(max(mid[D_Y, k] + half * slope[D_Y, k], 0.0), 1.0)
            x[_G * LANES + b], x[_H * LANES + b], x[_K * LANES + b] = w[G, k], w[H, k], w[K, k]
            for r in range(6):
                x[(_PV + r) * LANES + b] = states[r, v]
        for b in range(LANES):
            x[_OUT * LANES + b], x[_IN * LANES + b] = opening[0, at + b], opening[1, at + b]
            last = hints[0, at + b]
            x[_HINT * LANES + b] = min(max(2.0 * last - hints[1, at + b], 0.5 * last), 2.0 * last)
            hints[1, at + b] = last
        solve_ends(x, unsolved)
        for b in range(LANES):
            hints[0, at + b] = x[_NEXT * LANES + b]
            v, f = ends[b, i, MEETS] * LANES + b, ends[b, i, FACE] * LANES + b
            flux[RHO, f], flux[MOM, f] = outward * x[_MASS * LANES + b], x[_MOM * LANES + b]
            flux[ENE, f], flux[FRE, f] = outward * x[_ENE * LANES + b], outward * x[_FRE * LANES + b]
            area = geo[AREA, f]
            flows[0, at + b] += dt[b] * area * x[_MASS * LANES + b]
            flows[1, at + b] += dt[b] * area * x[_ENE * LANES + b]
            flows[2, at + b] += dt[b] * area * x[_FRE * LANES + b]
            inflow[IN_MASS, v] += area * x[_MASS * LANES + b]
            inflow[IN_ENERGY, v] += area * x[_ENE * LANES + b]
            inflow[IN_FRESH, v] += area * x[_FRE * LANES + b]


@njit(cache=True, error_model="numpy")
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
) -> None:
    """As `network.fluxes`, of LANES engines each with its own ends; arguments as in `flux_at_ends`."""
    find_slopes(q, w, slope, LANES)
    for i in range(steps.shape[0]):
        for b in range(LANES):
            k = steps[i, b] * LANES + b
            slopes_at_end(q, w, slope, k, LANES, False)
            slopes_at_end(q, w, slope, k - LANES, -LANES, False)
    for i in range(ends.shape[1]):
        slopes_at_ends(q, w, slope, ends, i, x)
    predict(q, w, geo, dt, slope, mid)
    exchange(w, slope, mid, flux, LANES)
    flux_at_steps(q, w, geo, dt, slope, mid, flux, steps, ratios, LANES)
    flux_at_ends(w, geo, slope, mid, flux, ends, opening, hints, states, inflow, flows, unsolved, dt, x)


@njit(cache=True, error_model="numpy", fastmath={"nnan", "nsz", "contract"})
def fastest(w: FloatArray, geo: FloatArray, x: FloatArray) -> None:
    """As `duct.fastest` for LANES engines: leaves the largest (|u| + a) / length [1/s] of each in the first row of x.

    Four rows of comparisons that need not wait for each other; the number of cells is a multiple of four.
    """
    u, a, inv_dx = w[U], w[A], geo[INV_DX]
    for i in range(4 * LANES):
        x[i] = 0.0
    for k in range(0, u.size, 4 * LANES):
        for i in range(4 * LANES):
            x[i] = max(x[i], (abs(u[k + i]) + a[k + i]) * inv_dx[k + i])
    for b in range(LANES):
        x[b] = max(max(x[b], x[LANES + b]), max(x[2 * LANES + b], x[3 * LANES + b]))
