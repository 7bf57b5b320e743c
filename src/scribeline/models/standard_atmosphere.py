"""The standard atmosphere below 11 km: what a barometer shows at a height where nobody read one.

A day's weather moves the pressure by 3 % either way; this is for a place without a barometer, and says so.
"""

import math
from dataclasses import dataclass

from scribeline.errors import TrialError

# ussa-1976
_T0_K, _P0_PA, _LAPSE_K_M = 288.15, 101325.0, 0.0065
_G0_M_S2, _M0_KG_MOL, _R_J_MOLK, _R0_M = 9.80665, 28.9644e-3, 8.31432, 6_356_766.0
_GAMMA = 1.4


@dataclass(frozen=True)
class StandardAir:
    """Standard air at a height."""

    geopotential_m: float
    t_k: float
    p_pa: float
    density_kg_m3: float
    sound_speed_m_s: float


def standard_air(altitude_m: float, geopotential: bool = False) -> StandardAir:
    """Standard air at a geometric height [m] (or, where said so, a geopotential one); -1000 to 11 000 m.

    Raises TrialError outside. Source: ussa-1976.

    >>> round(standard_air(500.0).p_pa)
    95461
    """
    if not -1000.0 <= altitude_m <= 11_000.0:
        raise TrialError(
            f"a height of {altitude_m:g} m\n    accepted: -1000 to 11000 m\n    what to do: write it in metres"
        )
    h = altitude_m if geopotential else _R0_M * altitude_m / (_R0_M + altitude_m)
    t_k = _T0_K - _LAPSE_K_M * h
    p_pa = _P0_PA * (t_k / _T0_K) ** (_G0_M_S2 * _M0_KG_MOL / (_R_J_MOLK * _LAPSE_K_M))
    per_kg = _R_J_MOLK / _M0_KG_MOL
    return StandardAir(h, t_k, p_pa, p_pa / (per_kg * t_k), math.sqrt(_GAMMA * per_kg * t_k))
