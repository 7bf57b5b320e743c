"""Heat from the gas to the cylinder walls after Woschni, to set beside Annand.

Fitted on four-stroke engines: an order of magnitude for a two-stroke. No knobs; the cycle uses models/annand.py.
"""

from scribeline.kernels.compiling import compiled

H_COEFFICIENT, BORE_EXPONENT, P_EXPONENT, T_EXPONENT, W_EXPONENT = 3.26, -0.2, 0.8, -0.55, 0.8
C1_GAS_EXCHANGE, C1_CLOSED = 6.18, 2.28
C2_BURNING_M_SK, C2_OTHERWISE_M_SK = 3.24e-3, 0.0


@compiled()
def gas_velocity_m_s(
    c1: float,
    mean_piston_speed_m_s: float,
    c2_m_sk: float,
    swept_m3: float,
    t_ref_k: float,
    p_ref_kpa: float,
    v_ref_m3: float,
    p_kpa: float,
    p_motored_kpa: float,
) -> float:
    """Mean gas velocity w = C1 Sp + C2 Vd Tr/(pr Vr) (p - pm) [m/s]; r any state of the closed period.

    Source: woschni-1967.

    >>> round(float(gas_velocity_m_s(2.28, 14.0, 0.00324, 1e-4, 350.0, 110.0, 8e-5, 3000.0, 1200.0)), 3)
    55.115
    """
    rise = p_kpa - p_motored_kpa
    return c1 * mean_piston_speed_m_s + c2_m_sk * swept_m3 * t_ref_k / (p_ref_kpa * v_ref_m3) * rise


@compiled()
def heat_coefficient_w_m2k(bore_m: float, p_kpa: float, t_k: float, w_m_s: float) -> float:
    """Heat transfer coefficient h = 3.26 B^-0.2 p^0.8 T^-0.55 w^0.8 [W/(m^2 K)]. Source: woschni-1967.

    >>> round(float(heat_coefficient_w_m2k(0.047, 2000.0, 1800.0, 25.0)), 3)
    559.209
    """
    return H_COEFFICIENT * bore_m**BORE_EXPONENT * p_kpa**P_EXPONENT * t_k**T_EXPONENT * w_m_s**W_EXPONENT
