"""Many duct ends at once, so that the compiler can solve LANES of them in one stroke of wide registers.

The same meeting as `boundaries.nozzle_end`, written without early returns and without calls into a mathematical
library: what differs between ends is chosen, not branched to. Numbers of LANES ends lie beside each other in a block,
row r of it at r * LANES; a compiler then sees without asking that rows are apart. An end has a place in the blocks at
home, which the caller fills. Ends that are open gather in two queues, gas that leaves its duct and gas that enters one,
and a queue closes its ranks when some of it is solved: nobody is tried who need not be. A result does not depend on who
else stands in a block. tests/kernels/test_ends.py holds it against `nozzle_end` to 1e-12.
"""

import math

from scribeline.kernels.boundaries import CLOSE, MOST_TRIALS, SHUT
from scribeline.kernels.compiling import compiled
from scribeline.kernels.elementary import power, power_below_one
from scribeline.kernels.gas import FloatArray
from scribeline.kernels.network import IntArray

LANES = 8  # numbers in the widest registers

# rows of a block at home alone: filled by the caller, then which way gas goes
Y, H, K, Y_V, H_V, OUT, IN, WAY = 0, 1, 2, 3, 4, 5, 6, 7
# rows at home and in a queue: filled by the caller, then found by `meet`, the last two of the gas that crosses:
# enthalpy at rest (but for the part with p, where it comes from the duct), fresh fraction
RHO, U, P, G, P_V, T_V, G_V, R_V, HINT = 8, 9, 10, 11, 12, 13, 14, 15, 16
OPEN, GAMMA, A0, INV_RHO, INV_P, INV_G1, SPAN, CARRIED_H, CARRIED_Y = 17, 18, 19, 20, 21, 22, 23, 24, 25
# rows of a queue: place at home, first guess and how near is near enough, bracket, unknown, last move; of the gas that
# leaves (p_v/p)^((g-1)/2g); of a volume that gas comes from 1/(g-1), 1/cp, 1/density, fastest speed
WHO, GUESS, GOAL, LOW, HIGH, S, LAST, Z_BACK, PART_V, INV_CP, INV_RHO_V, MOST_V = range(26, 38)
# one trial: surplus, slope, state at the face and its slopes, whether the throat is choked, speed of sound squared,
# whether it is solved
F, DF, RHO_F, U_F, P_F, D_RHO, D_U, D_P, CHOKED, A2, DONE = range(38, 49)
# what comes of it, then brought home: fluxes out of the duct per area, the hint for the next step
MASS, MOM, ENE, FRE, NEXT = range(49, 54)
BLOCK = 54 * LANES
NO_WAY, LEAVING, ENTERING = 0.0, 1.0, 2.0


def room_for(ends: int) -> int:
    """Numbers in the room that so many ends need: blocks at home, and as many for each queue."""
    return 3 * blocks_for(ends) * BLOCK


@compiled(inline="always")
def blocks_for(ends: int) -> int:
    """Blocks that hold so many ends."""
    return (ends + LANES - 1) // LANES


@compiled(inline="always")
def place(number: int) -> int:
    """Where row 0 of an end stands in the room or in a queue."""
    return number // LANES * BLOCK + number % LANES


@compiled()
def any_of(x: FloatArray, row: int) -> bool:
    """Whether a row of a block has a number above 0; in a loop of its own, as it keeps a loop from being one stroke."""
    total = 0.0
    for b in range(LANES):
        total += x[row * LANES + b]
    return total > 0.0


@compiled()
def meet(x: FloatArray, blocks: int) -> None:
    """Find which way gas goes at every end at home, and the pressure where none goes: shut, or at rest with the volume.

    Divisions are what these functions wait for, so inverses are kept: with G = 1/(g - 1) of the duct's gas,
    g + 1 = 2 + 1/G and so on.
    """
    for at in range(0, blocks * BLOCK, BLOCK):
        y = x[at : at + BLOCK]
        for b in range(LANES):
            rho, u, p, g = y[RHO * LANES + b], y[U * LANES + b], y[P * LANES + b], y[G * LANES + b]
            p_v, opening_out, opening_in = y[P_V * LANES + b], y[OUT * LANES + b], y[IN * LANES + b]
            h_d, k, fresh = y[H * LANES + b], y[K * LANES + b], y[Y * LANES + b]
            h_v, y_v = y[H_V * LANES + b], y[Y_V * LANES + b]
            share = 1.0 / (rho * p)
            inv_rho, inv_p = p * share, rho * share
            gamma, inv_g1 = 1.0 + 1.0 / g, 1.0 / (g + 1.0)
            a0 = math.sqrt(gamma * p * inv_rho)
            m = u * a0 * rho * inv_p * g * inv_g1
            h = 0.25 * (gamma + 1.0) * m
            struck = p * (1.0 + gamma * m * (h + math.sqrt(1.0 + h * h)))
            thinned = p * power_below_one(max(min(1.0 + 0.5 * (gamma - 1.0) * m, 1.0), 1e-4), 2.0 * (g + 1.0))
            p_w = struck if m > 0.0 else thinned
            outward = p_w > p_v
            opening = min(opening_out if outward else opening_in, 1.0)
            span = abs(p_w - p_v)
            idle = (opening < SHUT) | (span <= 1e-15 * p_v)
            way = LEAVING if outward else ENTERING
            y[WAY * LANES + b] = NO_WAY if idle else way
            y[OPEN * LANES + b], y[GAMMA * LANES + b], y[A0 * LANES + b] = opening, gamma, a0
            y[INV_RHO * LANES + b], y[INV_P * LANES + b], y[INV_G1 * LANES + b] = inv_rho, inv_p, inv_g1
            y[SPAN * LANES + b] = span
            y[CARRIED_H * LANES + b] = h_d + k * fresh if outward else h_v
            y[CARRIED_Y * LANES + b] = fresh if outward else y_v
            y[MASS * LANES + b], y[MOM * LANES + b], y[ENE * LANES + b] = 0.0, p_w, 0.0
            y[FRE * LANES + b], y[NEXT * LANES + b] = 0.0, 1.0


@compiled()
def queue_up(x: FloatArray, ends: int, way: float, queue: int) -> int:
    """Bring every end where gas goes this way into a queue, which begins at `queue`; returns how many."""
    count = 0
    for number in range(ends):
        here = place(number)
        if x[WAY * LANES + here] == way:
            there = queue + place(count)
            for r in range(RHO, CARRIED_Y + 1):
                x[r * LANES + there] = x[r * LANES + here]
            x[WHO * LANES + there] = number
            count += 1
    return count


@compiled(inline="always")
def first_guess(
    opening: float, a0: float, inv_a0: float, rho_up: float, span: float, part: float, p_v: float, sign: float
) -> tuple[float, float]:
    """Unknown of small waves, |p_f - p_v| = x^2 span with x^2 + k x = 1, as a fall of temperature; and the lesser flow.

    The latter is what the span drives through a wave alone, or through the throat alone.
    """
    throat, root = opening * math.sqrt(2.0 * rho_up), math.sqrt(span)
    c = throat * a0
    inv = 1.0 / (c + math.sqrt(c * c + 4.0 * span))
    step = 4.0 * span * inv * inv * span
    cool = 2.0 * part * step
    return math.sqrt(cool / (p_v + p_v + sign * step + 0.5 * cool)), min(span * inv_a0, throat * root)


@compiled()
def begin_leaving(x: FloatArray, queue: int, blocks: int) -> None:
    """What is known of gas that leaves before the first trial."""
    for at in range(queue, queue + blocks * BLOCK, BLOCK):
        y = x[at : at + BLOCK]
        for b in range(LANES):
            rho, u, p, g = y[RHO * LANES + b], y[U * LANES + b], y[P * LANES + b], y[G * LANES + b]
            p_v, opening, a0 = y[P_V * LANES + b], y[OPEN * LANES + b], y[A0 * LANES + b]
            inv_rho, inv_p, inv_g1 = y[INV_RHO * LANES + b], y[INV_P * LANES + b], y[INV_G1 * LANES + b]
            inv_a0 = a0 * rho * inv_p * g * inv_g1
            guess, flow = first_guess(opening, a0, inv_a0, rho, y[SPAN * LANES + b], inv_g1, p_v, 1.0)
            y[GUESS * LANES + b], y[GOAL * LANES + b] = guess, (1e-7 * flow + 1e-14 * rho * a0) * inv_rho
            y[Z_BACK * LANES + b] = power_below_one(min(max(p_v * inv_p, 3e-5), 1.0), 0.5 * inv_g1)
            y[LOW * LANES + b], y[HIGH * LANES + b], y[LAST * LANES + b] = 0.0, 1.0, 1.0
            s = max(min(y[HINT * LANES + b] * guess, 0.99), 0.0)
            y[S * LANES + b] = 0.0 if opening >= 1.0 else s  # an open end: nothing stands in the way
            # only a strong expansion or a fast stream can reach the speed of sound before the pressure outside
            fast = (p_v < p) & ((p_v < 0.45 * p) | (u * inv_a0 > 0.3))
            y[CHOKED * LANES + b] = 1.0 if fast else 0.0
        if any_of(y, CHOKED):
            bound_sonic(y)


@compiled()
def bound_sonic(x: FloatArray) -> None:
    """Lower end of the bracket where gas can leave at the speed of sound before it has the pressure outside."""
    for b in range(LANES):
        u, p, p_v = x[U * LANES + b], x[P * LANES + b], x[P_V * LANES + b]
        gamma, g, s = x[GAMMA * LANES + b], x[G * LANES + b], x[S * LANES + b]
        z = (gamma - 1.0) / (gamma + 1.0) * (u / x[A0 * LANES + b] + 2.0 * g)
        p_s = min(p * power(min(max(z, 0.01), 8.0), 2.0 * (g + 1.0)), p)
        bound = (x[CHOKED * LANES + b] > 0.0) & (p_s > p_v)
        ratio = min(max(p_v / max(p_s, 1e-300), 3e-5), 1.0)
        low = math.sqrt(1.0 - power_below_one(ratio, x[INV_G1 * LANES + b])) if bound else 0.0
        x[LOW * LANES + b] = low
        x[S * LANES + b] = low if bound & (x[OPEN * LANES + b] >= 1.0) else max(s, low)


@compiled()
def begin_entering(x: FloatArray, queue: int, blocks: int) -> None:
    """What is known of gas that enters before the first trial."""
    for at in range(queue, queue + blocks * BLOCK, BLOCK):
        y = x[at : at + BLOCK]
        for b in range(LANES):
            rho, g = y[RHO * LANES + b], y[G * LANES + b]
            p_v, t_v, g_v, r_v = y[P_V * LANES + b], y[T_V * LANES + b], y[G_V * LANES + b], y[R_V * LANES + b]
            a0, rt, less = y[A0 * LANES + b], r_v * t_v, g_v - 1.0
            share = 1.0 / (p_v * less * g_v * rt)
            part_v = p_v * g_v * rt * share
            rho_v, inv_rho_v = p_v * p_v * less * g_v * share, rt * rt * less * g_v * share
            inv_a0 = a0 * rho * y[INV_P * LANES + b] * g * y[INV_G1 * LANES + b]
            part = less * less * p_v * rt * share
            guess, flow = first_guess(
                y[OPEN * LANES + b], a0, inv_a0, rho_v, y[SPAN * LANES + b], part, p_v, -1.0
            )  # fmt: skip
            y[GUESS * LANES + b], y[GOAL * LANES + b] = guess, (1e-7 * flow + 1e-14 * rho * a0) * inv_rho_v
            y[PART_V * LANES + b], y[INV_RHO_V * LANES + b] = part_v, inv_rho_v
            y[INV_CP * LANES + b] = less * less * p_v * t_v * share
            y[MOST_V * LANES + b] = math.sqrt(2.0 * g_v * part_v * rt)
            y[LOW * LANES + b], y[HIGH * LANES + b], y[LAST * LANES + b] = 0.0, 1.0, 1.0
            y[S * LANES + b] = max(min(y[HINT * LANES + b] * guess, 0.99), 0.0)


@compiled()
def try_leaving(x: FloatArray, queue: int, blocks: int) -> None:
    """One trial of flow out of the duct for a queue; see `boundaries.leaving`."""
    for at in range(queue, queue + blocks * BLOCK, BLOCK):
        y = x[at : at + BLOCK]
        for b in range(LANES):
            rho, u, p, g = y[RHO * LANES + b], y[U * LANES + b], y[P * LANES + b], y[G * LANES + b]
            gamma, opening, p_back = y[GAMMA * LANES + b], y[OPEN * LANES + b], y[P_V * LANES + b]
            a0, inv_rho, s = y[A0 * LANES + b], y[INV_RHO * LANES + b], y[S * LANES + b]
            fall = s * s
            rest = 1.0 - fall
            thinner = power_below_one(rest, g)  # throat over face
            share = 1.0 / (rest * thinner)
            inv_rest, p_f = thinner * share, p_back * share
            p_slope = 2.0 * gamma * g * s * p_f * inv_rest
            over, under = (gamma + 1.0) * p_f + (gamma - 1.0) * p, (gamma - 1.0) * p_f + (gamma + 1.0) * p
            share = 1.0 / (over * under)
            inv_over, inv_under = under * share, over * share
            root = math.sqrt(2.0 * inv_rho * inv_over)
            a_f = a0 * y[Z_BACK * LANES + b] * math.sqrt(inv_rest)
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
            y[F * LANES + b], y[DF * LANES + b] = u_f - passes, u_slope - slope
            y[RHO_F * LANES + b], y[U_F * LANES + b], y[P_F * LANES + b] = rho_f, u_f, p_f
            y[D_RHO * LANES + b], y[D_U * LANES + b], y[D_P * LANES + b] = p_slope * inv_a2, u_slope, p_slope
            y[CHOKED * LANES + b], y[A2 * LANES + b] = 1.0 if u2 > a2 * rest else 0.0, a2
        if any_of(y, CHOKED):
            choke_leaving(y)


@compiled()
def choke_leaving(x: FloatArray) -> None:
    """Put in what a throat lets through that stays at the speed of sound, where a trial of flow out asked for more."""
    for b in range(LANES):
        gamma, g, a2, s = x[GAMMA * LANES + b], x[G * LANES + b], x[A2 * LANES + b], x[S * LANES + b]
        u_f, u_slope = x[U_F * LANES + b], x[D_U * LANES + b]
        a2_slope = 2.0 * s * a2 / (1.0 - s * s)
        rise = 0.5 * (gamma - 1.0) * u_f * u_f / a2  # of temperature when brought to rest
        exponent = 0.5 * (gamma + 1.0) * g
        passes = x[OPEN * LANES + b] * math.sqrt(a2)
        passes *= power(min(2.0 * (1.0 + rise) / (gamma + 1.0), 3e4), exponent)
        rise_slope = ((gamma - 1.0) * u_f * u_slope - rise * a2_slope) / a2
        slope = passes * (0.5 * a2_slope / a2 + exponent * rise_slope / (1.0 + rise))
        mine = x[CHOKED * LANES + b] > 0.0
        x[F * LANES + b] = u_f - passes if mine else x[F * LANES + b]
        x[DF * LANES + b] = u_slope - slope if mine else x[DF * LANES + b]


@compiled()
def try_entering(x: FloatArray, queue: int, blocks: int) -> None:
    """One trial of flow into the duct for a queue; see `boundaries.entering`."""
    for at in range(queue, queue + blocks * BLOCK, BLOCK):
        y = x[at : at + BLOCK]
        for b in range(LANES):
            u, p, g, gamma = y[U * LANES + b], y[P * LANES + b], y[G * LANES + b], y[GAMMA * LANES + b]
            opening, a0 = y[OPEN * LANES + b], y[A0 * LANES + b]
            p0, t0, g0, r0 = y[P_V * LANES + b], y[T_V * LANES + b], y[G_V * LANES + b], y[R_V * LANES + b]
            part, inv_cp, inv_rho0 = y[PART_V * LANES + b], y[INV_CP * LANES + b], y[INV_RHO_V * LANES + b]
            s = y[S * LANES + b]
            fall = s * s
            rest = 1.0 - fall
            inv_rest = 1.0 / rest
            thinner = power_below_one(rest, part)  # throat over upstream
            p_f = p0 * rest * thinner
            p_steep = -2.0 * g0 * part * s * inv_rest  # slope over pressure
            p_slope = p_steep * p_f
            over, gp = (gamma + 1.0) * p_f + (gamma - 1.0) * p, gamma * p_f
            share = 1.0 / (over * gp)
            inv_over = gp * share
            root = math.sqrt(2.0 * y[INV_RHO * LANES + b] * inv_over)
            z = power_below_one(min(max(p_f * y[INV_P * LANES + b], 3e-5), 1.0), 0.5 * y[INV_G1 * LANES + b])
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
            most = opening * y[MOST_V * LANES + b] * thinner
            y[F * LANES + b] = rho_f * inward * inv_rho0 - s * most
            rises = (rho_slope * inward + rho_f * u_slope) * inv_rho0
            y[DF * LANES + b] = rises - most + 2.0 * part * fall * most * inv_rest
            y[RHO_F * LANES + b], y[U_F * LANES + b], y[P_F * LANES + b] = rho_f, -inward, p_f
            y[D_RHO * LANES + b], y[D_U * LANES + b], y[D_P * LANES + b] = rho_slope, -u_slope, p_slope
            y[CHOKED * LANES + b] = 1.0 if fall * (g0 + 1.0) > g0 - 1.0 else 0.0
        if any_of(y, CHOKED):
            choke_entering(y)


@compiled()
def choke_entering(x: FloatArray) -> None:
    """Put in what a throat lets through that stays at the speed of sound, where a trial of flow in asked for more."""
    for b in range(LANES):
        u = x[U_F * LANES + b]
        g0, part, inv_rho0 = x[G_V * LANES + b], x[PART_V * LANES + b], x[INV_RHO_V * LANES + b]
        passes = x[OPEN * LANES + b] * math.sqrt(g0 * x[R_V * LANES + b] * x[T_V * LANES + b])
        passes *= power_below_one(2.0 / (g0 + 1.0), 0.5 * (g0 + 1.0) * part)
        surplus = -x[RHO_F * LANES + b] * u * inv_rho0 - passes
        rises = -(x[D_RHO * LANES + b] * u + x[RHO_F * LANES + b] * x[D_U * LANES + b]) * inv_rho0
        mine = x[CHOKED * LANES + b] > 0.0
        x[F * LANES + b] = surplus if mine else x[F * LANES + b]
        x[DF * LANES + b] = rises if mine else x[DF * LANES + b]


@compiled()
def judge(x: FloatArray, queue: int, blocks: int, leaving: float) -> None:
    """Decide who is solved and what that comes to, and move the unknown: Newton's rule, or the middle of the bracket.

    leaving : 1 where gas leaves, 0 where it enters
    """
    for at in range(queue, queue + blocks * BLOCK, BLOCK):
        y = x[at : at + BLOCK]
        for b in range(LANES):
            s, f, low, high = y[S * LANES + b], y[F * LANES + b], y[LOW * LANES + b], y[HIGH * LANES + b]
            u_f, d_u, g, g_v = y[U_F * LANES + b], y[D_U * LANES + b], y[G * LANES + b], y[G_V * LANES + b]
            there = (abs(f) <= y[GOAL * LANES + b]) | ((s == low) & (f <= 0.0)) | (high - low < 1e-14)
            low = s if f > 0.0 else low
            high = high if f > 0.0 else s
            move = -f / y[DF * LANES + b]
            near = abs(d_u) * move * move <= CLOSE * s * abs(u_f)
            along = move if near & (not there) else 0.0
            rho_f = y[RHO_F * LANES + b] + along * y[D_RHO * LANES + b]
            p_f = y[P_F * LANES + b] + along * y[D_P * LANES + b]
            u_f += along * d_u
            done = there | near
            newton = (low < s + move) & (s + move < high) & (abs(move) < 0.7 * y[LAST * LANES + b])
            on = s + move if newton else 0.5 * (low + high)
            s = s + along if done else on
            y[S * LANES + b], y[LAST * LANES + b] = s, abs(move) if newton else high - low
            y[LOW * LANES + b], y[HIGH * LANES + b], y[DONE * LANES + b] = low, high, 1.0 if done else 0.0
            guess = y[GUESS * LANES + b]
            share = 1.0 / (rho_f * guess)
            mass = rho_f * u_f
            total = y[CARRIED_H * LANES + b] + leaving * ((g * p_f + p_f) * guess * share + 0.5 * u_f * u_f)
            y[MASS * LANES + b], y[MOM * LANES + b], y[ENE * LANES + b] = mass, mass * u_f + p_f, mass * total
            y[FRE * LANES + b], y[NEXT * LANES + b] = mass * y[CARRIED_Y * LANES + b], s * rho_f * share
            sonic2 = 2.0 * g_v * y[R_V * LANES + b] * y[T_V * LANES + b]  # speed of sound squared, times g + 1
            jet = done & (leaving < 0.5) & (u_f * u_f * (g_v + 1.0) > sonic2)
            y[CHOKED * LANES + b] = 1.0 if jet else 0.0
        if any_of(y, CHOKED):
            bound_jets(y)


@compiled()
def bound_jets(x: FloatArray) -> None:
    """Hold a jet into the duct at the speed of sound: what the duct does no longer matters at the face then."""
    for b in range(LANES):
        p_v, t_v, g_v, r_v = x[P_V * LANES + b], x[T_V * LANES + b], x[G_V * LANES + b], x[R_V * LANES + b]
        mass, momentum = x[MASS * LANES + b], x[MOM * LANES + b]
        energy, fresh = x[ENE * LANES + b], x[FRE * LANES + b]
        inv = 1.0 / (g_v + 1.0)
        t_sonic = 2.0 * t_v * inv
        sonic = math.sqrt(g_v * r_v * t_sonic)
        flow = x[OPEN * LANES + b] * p_v * math.sqrt(g_v / (r_v * t_v))
        flow *= power_below_one(2.0 * inv, 0.5 * (g_v + 1.0) / (g_v - 1.0))
        jet = x[CHOKED * LANES + b] > 0.0
        x[MASS * LANES + b] = -flow if jet else mass
        x[MOM * LANES + b] = flow * sonic + flow / sonic * r_v * t_sonic if jet else momentum
        x[ENE * LANES + b] = -flow * x[CARRIED_H * LANES + b] if jet else energy
        x[FRE * LANES + b] = -flow * x[CARRIED_Y * LANES + b] if jet else fresh


@compiled()
def close_ranks(x: FloatArray, queue: int, count: int) -> int:
    """Take home what is solved, and let the rest of a queue move up; returns how many that is."""
    left = 0
    for number in range(count):
        here = queue + place(number)
        if x[DONE * LANES + here] > 0.0:
            home = place(int(x[WHO * LANES + here]))
            for r in range(MASS, NEXT + 1):
                x[r * LANES + home] = x[r * LANES + here]
        else:
            there = queue + place(left)
            left += 1
            if there != here:
                for r in range(RHO, MOST_V + 1):
                    x[r * LANES + there] = x[r * LANES + here]
    return left


@compiled()
def solve_ends(x: FloatArray, ends: int, unsolved: IntArray) -> None:
    """Solve the ends that stand at home in the room; fluxes and hints come to stand there.

    x : (room_for(ends),); unsolved : (engines,), counts the ends of each whose pressure was not found, end number
    belonging to engine number % engines
    """
    home = blocks_for(ends)
    meet(x, home)
    queue, other = home * BLOCK, 2 * home * BLOCK
    leaving, entering = queue_up(x, ends, LEAVING, queue), queue_up(x, ends, ENTERING, other)
    begin_leaving(x, queue, blocks_for(leaving))
    begin_entering(x, other, blocks_for(entering))
    for _ in range(MOST_TRIALS):
        if leaving + entering == 0:
            break
        # both first, as a processor goes on with one while the other waits for itself
        try_leaving(x, queue, blocks_for(leaving))
        try_entering(x, other, blocks_for(entering))
        judge(x, queue, blocks_for(leaving), 1.0)
        judge(x, other, blocks_for(entering), 0.0)
        leaving, entering = close_ranks(x, queue, leaving), close_ranks(x, other, entering)
    for i in range(leaving):
        unsolved[int(x[WHO * LANES + queue + place(i)]) % unsolved.size] += 1
    for i in range(entering):
        unsolved[int(x[WHO * LANES + other + place(i)]) % unsolved.size] += 1
