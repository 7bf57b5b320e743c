"""What a duct meets at its end: a wall, or a nozzle (port, valve, throttle, open end) to a volume of gas.

One pure function per meeting, on one state at the face, with velocity counted positive OUT of the duct. The result
is the flux out of the duct, so what leaves the duct enters the volume to the last bit. Reeds and pistons only change
how far the nozzle is open; they live with the volumes.

A nozzle end joins two things. Inside the duct a single wave runs back from the face: shock or rarefaction, exact for
a perfect gas with the local gamma. Outside it, or inside the throat, the flow is steady: without loss from the
stagnation state upstream to the throat, at the pressure found downstream of it, choked at most; the jet then mixes
in the duct at that pressure (constant-pressure model). Throat area over duct area is `opening`, discharge
coefficient included. With opening 1 and inflow it is a bell-mouthed open end, with opening 1 and outflow an end at
constant pressure. One unknown, the root of the fall of temperature up to the throat: the flow is nearly linear in it,
a trial costs one power, and every slope follows from it (Newton, kept in a bracket). It changes little from step to
step, so what it was, over a guess from small waves, is the hint for the next: one or two trials.
"""

import math

from scribeline.kernels.compiling import compiled
from scribeline.kernels.riemann import hllc

MOST_TRIALS = 40
SHUT = 1e-4  # opening below which a port is a wall
CLOSE = 2e-8  # what a straight line may miss of the flow in the last move of the unknown
SOLVED, UNSOLVED = 0, 1


@compiled()
def speed_behind_wave(p: float, p0: float, rho0: float, gamma: float) -> float:
    """Velocity change [m/s] across a shock or rarefaction from pressure p0 to p [Pa]; negative for p below p0.

    rho0 : density ahead of the wave [kg/m^3]. Source: toro-2009, equations 4.6 and 4.7.

    >>> round(float(speed_behind_wave(0.30313, 1.0, 1.0, 1.4)), 5)
    -0.92745
    """
    if p > p0:
        return (p - p0) * math.sqrt(2.0 / (rho0 * ((gamma + 1.0) * p + (gamma - 1.0) * p0)))
    a0 = math.sqrt(gamma * p0 / rho0)
    return 2.0 * a0 / (gamma - 1.0) * ((p / p0) ** ((gamma - 1.0) / (2.0 * gamma)) - 1.0)


@compiled()
def density_behind_wave(p: float, p0: float, rho0: float, gamma: float) -> float:
    """Density [kg/m^3] behind a shock (p above p0) or rarefaction from pressure p0 and density rho0."""
    if p > p0:
        q = (gamma - 1.0) / (gamma + 1.0)
        return rho0 * (p / p0 + q) / (q * p / p0 + 1.0)
    return rho0 * (p / p0) ** (1.0 / gamma)


@compiled()
def wall_pressure(rho: float, u: float, p: float, gamma: float) -> float:
    """Pressure [Pa] on a wall that stops gas of density rho and pressure p arriving at u [m/s], exactly.

    u > 0 is a reflected shock, u < 0 a rarefaction; gas that leaves faster than it can expand leaves a vacuum.

    >>> round(float(wall_pressure(1.0, 1.0, 1.0, 1.4)), 5)
    2.92665
    """
    a = math.sqrt(gamma * p / rho)
    m = u / a
    if m > 0.0:
        b = 0.25 * (gamma + 1.0) * m
        return p * (1.0 + gamma * m * (b + math.sqrt(1.0 + b * b)))
    base = max(1.0 + 0.5 * (gamma - 1.0) * m, 0.0)
    return p * base ** (2.0 * gamma / (gamma - 1.0))


@compiled()
def nozzle_flow(p0: float, t0: float, drop: float, gamma: float, r: float) -> float:
    """Mass flow per throat area [kg/(m^2 s)] from stagnation p0 [Pa], t0 [K] over a pressure drop [Pa]; choked at most.

    m/A = p0 / sqrt(R T0) pr^(1/g) sqrt(2 g/(g-1) (1 - pr^((g-1)/g))), pr = 1 - drop/p0, not below the critical one.
    Returns 0 for no or a negative drop. The drop, not the pressure behind it, is the argument because the flow goes
    with its square root: taken as a difference of two pressures it would carry sound of 1e-8 as noise.
    gamma : ratio of heat capacities; r : gas constant [J/(kg K)]. Source: heywood-1988, appendix C.

    >>> round(float(nozzle_flow(101325.0, 293.15, 41325.0, 1.4, 287.05)), 6)
    237.01193
    """
    if drop <= 0.0:
        return 0.0
    part = (gamma - 1.0) / gamma
    fall = -math.expm1(part * math.log1p(-min(drop / p0, 0.9)))  # of temperature, over the stagnation temperature
    if fall > (gamma - 1.0) / (gamma + 1.0):  # choked: the throat stays at the speed of sound
        return p0 * math.sqrt(gamma / (r * t0)) * (2.0 / (gamma + 1.0)) ** (0.5 * (gamma + 1.0) / (gamma - 1.0))
    return (p0 - drop) / (1.0 - fall) * math.sqrt(2.0 / part * fall / (r * t0))


@compiled()
def leaving(
    s: float, rho: float, u: float, p: float, gamma: float, opening: float, p_back: float, z_back: float
) -> tuple[float, float, float, float, float, float, float, float]:
    """One trial of flow out of a duct: how much faster the gas arrives at the face than the throat lets it through.

    s : square root of the fall of temperature from face to throat, over that at the face [-]; p_back : pressure at
    the throat [Pa]; rho, u, p : state in the duct, u out of it; z_back : (p_back/p)^((g-1)/2g), for p_back below p
    Returns that difference [m/s] and its slope in s; density, velocity, pressure at the face, and their slopes.
    """
    fall = s * s
    rest = 1.0 - fall
    part = 1.0 / (gamma - 1.0)
    denser = math.exp(-part * math.log(rest))  # face over throat
    p_f = p_back * denser / rest
    p_slope = 2.0 * gamma * part * s * p_f / rest
    if p_f > p:
        sum_p = (gamma + 1.0) * p_f + (gamma - 1.0) * p
        root = math.sqrt(2.0 / (rho * sum_p))
        change = (p_f - p) * root
        resist = root * (1.0 - 0.5 * (gamma + 1.0) * (p_f - p) / sum_p)
        rho_f = rho * sum_p / ((gamma - 1.0) * p_f + (gamma + 1.0) * p)
        a2 = gamma * p_f / rho_f
    else:
        a0 = math.sqrt(gamma * p / rho)
        z = z_back / math.sqrt(rest)
        change = 2.0 * part * a0 * (z - 1.0)
        a2 = a0 * a0 * z * z
        rho_f = gamma * p_f / a2
        resist = a0 * z / (gamma * p_f)
    u_f = u - change
    u_slope = -resist * p_slope
    a2_slope = 2.0 * s * a2 / rest
    u2 = u_f * u_f + 2.0 * part * a2 * fall  # in the throat, if the gas expands all the way
    if u2 <= a2 * rest:
        u_t = math.sqrt(u2)
        passes = opening * u_t / denser
        run = 0.0 if u_t == 0.0 else (u_f * u_slope + part * (a2_slope * fall + 2.0 * s * a2)) / u_t
        slope = opening * run / denser - 2.0 * part * s * passes / rest
    else:  # choked: the throat stays at the speed of sound
        rise = 0.5 * (gamma - 1.0) * u_f * u_f / a2  # of temperature when brought to rest
        power = 0.5 * (gamma + 1.0) * part
        passes = opening * math.sqrt(a2) * math.exp(power * math.log(2.0 * (1.0 + rise) / (gamma + 1.0)))
        rise_slope = ((gamma - 1.0) * u_f * u_slope - rise * a2_slope) / a2
        slope = passes * (0.5 * a2_slope / a2 + power * rise_slope / (1.0 + rise))
    return u_f - passes, u_slope - slope, rho_f, u_f, p_f, p_slope / a2, u_slope, p_slope


@compiled()
def entering(
    s: float, rho: float, u: float, p: float, gamma: float, opening: float, p0: float, t0: float, g0: float, r0: float
) -> tuple[float, float, float, float, float, float, float, float]:
    """One trial of flow into a duct: how much faster the gas leaves the face inward than the throat lets it through.

    s : square root of the fall of temperature from the volume to the throat, over that in the volume [-]
    p0, t0, g0, r0 : stagnation pressure [Pa], temperature [K], gamma and gas constant upstream
    Returns the same as `leaving`; the difference is a flow over the density upstream [m/s].
    """
    fall = s * s
    rest = 1.0 - fall
    part = 1.0 / (g0 - 1.0)
    denser = math.exp(-part * math.log(rest))  # upstream over throat
    p_f = p0 * rest / denser
    p_slope = -2.0 * g0 * part * s * p_f / rest
    if p_f > p:
        sum_p = (gamma + 1.0) * p_f + (gamma - 1.0) * p
        root = math.sqrt(2.0 / (rho * sum_p))
        change = (p_f - p) * root
        resist = root * (1.0 - 0.5 * (gamma + 1.0) * (p_f - p) / sum_p)
    else:
        a0 = math.sqrt(gamma * p / rho)
        z = math.exp(0.5 * (gamma - 1.0) / gamma * math.log(p_f / p))
        change = 2.0 / (gamma - 1.0) * a0 * (z - 1.0)
        resist = a0 * z / (gamma * p_f)
    inward = change - u
    u_slope = resist * p_slope
    cp = g0 * part * r0
    t_f = t0 - 0.5 * inward * inward / cp
    t_slope = -inward * u_slope / cp
    if t_f < 0.3 * t0:  # far beyond sound, on the way to the solution only
        t_f, t_slope = 0.3 * t0, 0.0
    rho_f = p_f / (r0 * t_f)
    rho_slope = rho_f * (p_slope / p_f - t_slope / t_f)
    rho0 = p0 / (r0 * t0)
    if fall <= (g0 - 1.0) / (g0 + 1.0):
        fastest = math.sqrt(2.0 * cp * t0)
        passes = opening * s * fastest / denser
        slope = opening * fastest / denser - 2.0 * part * s * passes / rest
    else:  # choked: the throat stays at the speed of sound
        passes = opening * math.sqrt(g0 * r0 * t0) * math.exp(0.5 * (g0 + 1.0) * part * math.log(2.0 / (g0 + 1.0)))
        slope = 0.0
    surplus, rises = rho_f * inward / rho0 - passes, (rho_slope * inward + rho_f * u_slope) / rho0 - slope
    return surplus, rises, rho_f, -inward, p_f, rho_slope, -u_slope, p_slope


@compiled()
def sonic_pressure(rho: float, u: float, p: float, gamma: float) -> float:
    """Pressure [Pa] at which gas that expands towards the end just leaves at the speed of sound."""
    a = math.sqrt(gamma * p / rho)
    z = (gamma - 1.0) / (gamma + 1.0) * (u / a + 2.0 / (gamma - 1.0))
    return p * z ** (2.0 * gamma / (gamma - 1.0))


@compiled()
def nozzle_end(
    rho: float,
    u: float,
    p: float,
    y: float,
    law: tuple[float, float, float],
    opening_out: float,
    opening_in: float,
    volume: tuple[float, float, float, float, float, float],
    hint: float,
) -> tuple[float, float, float, float, float, float, int]:
    """Flux out of a duct through a nozzle into a volume, or back.

    rho, u, p, y : density [kg/m^3], velocity out of the duct [m/s], pressure [Pa], fresh fraction [-] at the face
    law : G, H, K of rho e = G p + rho (H + K y), the gas in the duct
    opening_out, opening_in : throat over duct area, discharge coefficient included [-], for flow out of and into
        the duct; at most 1, below SHUT a wall
    volume : its p [Pa], T [K], fresh fraction, gamma, gas constant [J/(kg K)], enthalpy [J/kg]
    hint : the one returned a time step earlier, 1 without; saves trials and changes the result by rounding at most

    Returns fluxes per duct area, positive out of the duct, of mass, momentum, energy, fresh mass; the pressure at
    the face [Pa]; the hint for the next step; and SOLVED or UNSOLVED.
    """
    g, h, ky = law
    p_v, t_v, y_v, g_v, r_v, h_v = volume
    gamma = 1.0 + 1.0 / g
    p_w = wall_pressure(rho, u, p, gamma)
    outward = p_w > p_v
    opening = min(opening_out if outward else opening_in, 1.0)
    span = abs(p_w - p_v)
    if opening < SHUT or span <= 1e-15 * p_v:
        return 0.0, p_w, 0.0, 0.0, p_w, 1.0, SOLVED
    part = (gamma - 1.0) / gamma if outward else (g_v - 1.0) / g_v
    low, high, z_back = 0.0, 1.0, 1.0
    if outward and p_v < p:
        z_back = math.exp(0.5 * part * math.log(p_v / p))
        # only a strong expansion or a fast stream can reach the speed of sound before it reaches the pressure outside
        if p_v < 0.45 * p or u > 0.3 * math.sqrt(gamma * p / rho):
            p_s = min(sonic_pressure(rho, u, p, gamma), p)  # p where the gas already arrives faster than sound
            if p_s > p_v:
                low = math.sqrt(1.0 - math.exp(part * math.log(p_v / p_s)))
    # first guess from small waves: |p_f - p_v| = x^2 span with x^2 + k x = 1, as a fall of temperature
    wave = span * math.sqrt(rho / (gamma * p))
    rho_up = rho if outward else p_v / (r_v * t_v)
    throat = opening * math.sqrt(2.0 * rho_up * span)
    k = throat / wave
    x = 2.0 / (k + math.sqrt(k * k + 4.0))
    step = x * x * span
    cool = 2.0 * part * step / (p_v + p_v + (step if outward else -step))
    guess = math.sqrt(cool / (1.0 + 0.5 * cool))
    s = max(min(hint * guess, 0.99), low)
    if outward and opening >= 1.0:
        s = low  # an open end: nothing stands in the way
    goal = (1e-7 * min(wave, throat) + 1e-14 * math.sqrt(gamma * p * rho)) / rho_up
    rho_f, u_f, p_f = rho, 0.0, p_w
    status, last = UNSOLVED, 1.0
    for _ in range(MOST_TRIALS):
        if outward:
            f, slope, rho_f, u_f, p_f, rho_slope, u_slope, p_slope = leaving(s, rho, u, p, gamma, opening, p_v, z_back)
        else:
            f, slope, rho_f, u_f, p_f, rho_slope, u_slope, p_slope = entering(
                s, rho, u, p, gamma, opening, p_v, t_v, g_v, r_v
            )
        if abs(f) <= goal or (s == low and f <= 0.0) or high - low < 1e-14:
            status = SOLVED
            break
        if f > 0.0:
            low = s
        else:
            high = s
        move = -f / slope
        if abs(u_slope) * move * move <= CLOSE * s * abs(u_f):  # what a straight line misses goes with the square
            s += move
            rho_f += move * rho_slope
            u_f += move * u_slope
            p_f += move * p_slope
            status = SOLVED
            break
        if low < s + move < high and abs(move) < 0.7 * last:
            s, last = s + move, abs(move)
        else:
            s, last = 0.5 * (low + high), high - low
    if not outward:
        t_sonic = 2.0 * t_v / (g_v + 1.0)
        if u_f * u_f > g_v * r_v * t_sonic:
            # mixing in the duct cannot make a jet supersonic: what the duct does no longer matters at the face
            u_f = -math.sqrt(g_v * r_v * t_sonic)
            rho_f = -opening * nozzle_flow(p_v, t_v, p_v, g_v, r_v) / u_f
            p_f = rho_f * r_v * t_sonic
    mass = rho_f * u_f
    momentum = mass * u_f + p_f
    if outward:
        total = (g * p_f + p_f) / rho_f + h + ky * y + 0.5 * u_f * u_f
        return mass, momentum, mass * total, mass * y, p_f, s / guess, status
    return mass, momentum, mass * h_v, mass * y_v, p_f, s / guess, status


@compiled()
def critical_ratio(gamma: float) -> float:
    """Throat over stagnation pressure at which a loss-free nozzle chokes, (2/(g+1))^(g/(g-1)) [-].

    >>> round(float(critical_ratio(1.4)), 6)
    0.528282
    """
    return (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))


@compiled()
def squeezed(rho: float, u: float, p: float, a: float, ratio: float, towards: bool) -> tuple[float, float, float]:
    """Density, velocity, pressure of duct gas where its duct narrows at once to 1/ratio of its area.

    Flow towards the narrow speeds up without loss (Bernoulli, no faster than sound). Gas that comes out of the
    narrow is a jet in still gas of the pressure p (Borda and Carnot), so only the velocity is converted.
    """
    fast = min(max(ratio * u, -a), a)
    if not towards:
        return rho, fast, p
    drop = 0.5 * rho * max(fast * fast - u * u, 0.0)
    return rho - drop / (a * a), fast, p - drop


@compiled()
def step_in_area(
    left: tuple[float, float, float, float],
    law_l: tuple[float, float, float],
    a_l: float,
    ratio_l: float,
    right: tuple[float, float, float, float],
    law_r: tuple[float, float, float],
    a_r: float,
    ratio_r: float,
) -> tuple[float, float, float, float]:
    """Fluxes per face area of mass, momentum, energy, fresh mass where two ducts of different area meet.

    left, right : density [kg/m^3], velocity to the right [m/s], pressure [Pa], fresh fraction at the face
    law : G, H, K of rho e = G p + rho (H + K y); a : sound speed [m/s]
    ratio : area of the duct on that side over the area of the face, which is the smaller of the two; 1 or more
    """
    rho_l, u_l, p_l = squeezed(left[0], left[1], left[2], a_l, ratio_l, left[1] > 0.0)
    rho_r, u_r, p_r = squeezed(right[0], right[1], right[2], a_r, ratio_r, right[1] < 0.0)
    # A wide duct yields as many times more than the face as it is wider, so its side of the face is what small waves
    # leave there. Taken as if both yielded alike, steps of more than 1:4 would swing up within a few time steps.
    yield_l, yield_r = rho_l * a_l / ratio_l, rho_r * a_r / ratio_r
    u = (yield_l * u_l + yield_r * u_r + p_l - p_r) / (yield_l + yield_r)
    p = p_l + yield_l * (u_l - u)
    if p > 0.2 * max(p_l, p_r) and abs(u) < min(a_l, a_r):
        if ratio_l > 1.0:
            rho_l, u_l, p_l = rho_l + (p - p_l) / (a_l * a_l), u, p
        if ratio_r > 1.0:
            rho_r, u_r, p_r = rho_r + (p - p_r) / (a_r * a_r), u, p
    e_l = law_l[0] * p_l + rho_l * (law_l[1] + law_l[2] * left[3] + 0.5 * u_l * u_l)
    e_r = law_r[0] * p_r + rho_r * (law_r[1] + law_r[2] * right[3] + 0.5 * u_r * u_r)
    return hllc(rho_l, u_l, p_l, e_l, a_l, left[3], rho_r, u_r, p_r, e_r, a_r, right[3])
