"""Flux between two gas states: HLLC (Toro, Spruce, Speares 1994) with a passive species.

Only what two neighbouring states exchange; slopes, sources and boundaries live elsewhere. The function knows no gas
law: the caller brings total energy and sound speed, so any gas law works.
"""

from scribeline.kernels.compiling import compiled
from scribeline.kernels.exact import NIL, ONE


@compiled(inline="always")
def hllc(
    rho_l: float,
    u_l: float,
    p_l: float,
    e_l: float,
    a_l: float,
    y_l: float,
    rho_r: float,
    u_r: float,
    p_r: float,
    e_r: float,
    a_r: float,
    y_r: float,
) -> tuple[float, float, float, float]:
    """Fluxes per area of mass [kg/(m^2 s)], momentum [Pa], total energy [W/m^2] and fresh mass [kg/(m^2 s)].

    rho : density [kg/m^3]; u : velocity to the right [m/s]; p : pressure [Pa]
    e : total energy per volume [J/m^3]; a : sound speed [m/s]; y : fresh mass fraction [-]; _l, _r : left, right

    Outer waves are bounded after Davis 1988, min(u - a) and max(u + a) of both sides. A contact at rest between
    equal pressures gives exactly zero mass flux and exactly that pressure. Source: toro-2009, section 10.4.
    """
    s_l = min(u_l - a_l, u_r - a_r)
    s_r = max(u_l + a_l, u_r + a_r)
    m_l = rho_l * (s_l - u_l)
    m_r = rho_r * (s_r - u_r)
    s_star = (p_r - p_l + m_l * u_l - m_r * u_r) / (m_l - m_r)
    from_left = s_star >= NIL
    rho = rho_l if from_left else rho_r
    u = u_l if from_left else u_r
    p = p_l if from_left else p_r
    e = e_l if from_left else e_r
    y = y_l if from_left else y_r
    s = s_l if from_left else s_r
    m = m_l if from_left else m_r
    p_star = p + m * (s_star - u)
    scale = ONE / (s - s_star)
    rho_star = m * scale
    e_star = ((s - u) * e - p * u + p_star * s_star) * scale
    # all waves run to one side: the state itself crosses the face
    supersonic = (s_l >= NIL) if from_left else (s_r <= NIL)
    s_star = u if supersonic else s_star
    p_star = p if supersonic else p_star
    rho_star = rho if supersonic else rho_star
    e_star = e if supersonic else e_star
    mass = rho_star * s_star
    return mass, mass * s_star + p_star, s_star * (e_star + p_star), mass * y
