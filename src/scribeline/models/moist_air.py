"""Density of outside air with its moisture, and the vapour in it from relative humidity or dew point.

CIPM-2007: recommended for 15 to 27 °C, 600 to 1100 hPa; beyond that, from -10 to 45 °C, it agrees with an independent
equation of state to 3 parts in 10 000, which a test checks, and that is where this module stops.
"""

import math
from dataclasses import dataclass

from scribeline.errors import TrialError

# cipm-2007: saturation pressure, enhancement factor, compressibility, molar masses, gas constant.
_SATURATION = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)
_ENHANCEMENT = (1.00062, 3.14e-8, 5.6e-7)
_A = (1.58123e-6, -2.9331e-8, 1.1043e-10)
_B = (5.707e-6, -2.051e-8)
_C = (1.9898e-4, -2.376e-6)
_D, _E = 1.83e-11, -0.765e-8
_R_J_MOLK = 8.314472
_WATER_KG_MOL = 18.01528e-3
_CO2_SHARE = 4e-4

LOWEST_C, HIGHEST_C = -10.0, 45.0
LOWEST_PA, HIGHEST_PA = 60_000.0, 110_000.0


@dataclass(frozen=True)
class Air:
    """Outside air: its temperature, the pressure of the barometer (not brought to sea level) and its vapour."""

    t_c: float
    p_pa: float
    vapour_pa: float

    @property
    def dry_pa(self) -> float:
        """What the barometer would show without the vapour."""
        return self.p_pa - self.vapour_pa

    @property
    def density_kg_m3(self) -> float:
        """Density with the vapour in it (cipm-2007)."""
        return density_kg_m3(self.t_c, self.p_pa, self.vapour_pa / self.p_pa)


def air(t_c: float, p_pa: float, relative_humidity: float | None = None, dew_point_c: float | None = None) -> Air:
    """Outside air from what was read; humidity as a share from 0 to 1, or as a dew point, or neither (dry).

    Raises TrialError outside -10 to 45 °C and 600 to 1100 hPa, for a dew point above the temperature, and where
    both humidities are given. Source: cipm-2007.

    >>> round(air(20.0, 101325.0, 0.5).density_kg_m3, 4)
    1.1993
    """
    if not LOWEST_C <= t_c <= HIGHEST_C or not LOWEST_PA <= p_pa <= HIGHEST_PA:
        raise TrialError(
            f"air of {t_c:g} °C and {p_pa / 100:g} hPa\n    accepted: {LOWEST_C:g} to {HIGHEST_C:g} °C, "
            f"{LOWEST_PA / 100:g} to {HIGHEST_PA / 100:g} hPa, as a barometer there shows it\n"
            "    what to do: weather reports give the pressure brought to sea level; take off about 12 hPa for every "
            "100 m of height"
        )
    if relative_humidity is not None and dew_point_c is not None:
        raise TrialError(
            "relative humidity and dew point are both given\n    accepted: one of them\n    what to do: leave one out"
        )
    if relative_humidity is not None and not 0.0 <= relative_humidity <= 1.0:
        raise TrialError(
            f"a relative humidity of {relative_humidity:g}\n    accepted: 0 to 1\n    what to do: 55 % is 0.55"
        )
    if dew_point_c is not None and not LOWEST_C - 30.0 <= dew_point_c <= t_c:
        raise TrialError(
            f"a dew point of {dew_point_c:g} °C in air of {t_c:g} °C\n    accepted: at most the air's temperature\n"
            "    what to do: read both again"
        )
    if dew_point_c is not None:
        vapour = enhancement(dew_point_c, p_pa) * saturation_pa(dew_point_c)
    else:
        vapour = (relative_humidity or 0.0) * enhancement(t_c, p_pa) * saturation_pa(t_c)
    return Air(t_c, p_pa, vapour)


def saturation_pa(t_c: float) -> float:
    """Saturation pressure of water vapour over liquid [Pa]. Source: cipm-2007.

    >>> round(saturation_pa(20.0), 1)
    2339.2
    """
    a, b, c, d = _SATURATION
    t_k = t_c + 273.15
    return math.exp(a * t_k**2 + b * t_k + c + d / t_k)


def enhancement(t_c: float, p_pa: float) -> float:
    """How much more vapour air holds than vacuum would. Source: cipm-2007."""
    alpha, beta, gamma = _ENHANCEMENT
    return alpha + beta * p_pa + gamma * t_c**2


def compressibility(t_c: float, p_pa: float, vapour_share: float) -> float:
    """Compressibility factor Z; vapour_share is the mole fraction. Source: cipm-2007."""
    t_k, x = t_c + 273.15, vapour_share
    inner = _A[0] + _A[1] * t_c + _A[2] * t_c**2 + (_B[0] + _B[1] * t_c) * x + (_C[0] + _C[1] * t_c) * x**2
    return 1.0 - p_pa / t_k * inner + (p_pa / t_k) ** 2 * (_D + _E * x**2)


def density_kg_m3(t_c: float, p_pa: float, vapour_share: float, co2_share: float = _CO2_SHARE) -> float:
    """Density of moist air [kg/m³]; vapour_share is the mole fraction of water. Source: cipm-2007."""
    dry_kg_mol = (28.96546 + 12.011 * (co2_share - 4e-4)) * 1e-3
    z = compressibility(t_c, p_pa, vapour_share)
    lighter = 1.0 - vapour_share * (1.0 - _WATER_KG_MOL / dry_kg_mol)
    return p_pa * dry_kg_mol / (z * _R_J_MOLK * (t_c + 273.15)) * lighter
