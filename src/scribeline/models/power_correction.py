"""What power measured in today's air would be in standard air, by three published factors, and where each may be used.

All three were made for four-stroke cars; J1349 assumes that 15 % of the indicated power goes into friction. A small
two-stroke follows the air in roughly this way; nothing better is published for it. A tuned pipe follows the
temperature of its gas as well, which no factor knows. So: for comparing days, within the limits, not for boasting.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from scribeline.errors import TrialError
from scribeline.models.moist_air import Air


@dataclass(frozen=True)
class Standard:
    """One published factor.

    factor : corrected power = factor * measured power
    t_c, dry_pa : limits of the test's air; low_factor, high_factor : limits of the factor; None where none is known
    """

    name: str
    source: str
    factor: Callable[[Air], float]
    reference: str
    t_c: tuple[float, float] | None
    dry_pa: tuple[float, float] | None
    factors: tuple[float, float] | None


def iso_1585(air: Air) -> float:
    """(99 kPa / dry pressure)^1.2 (T / 298 K)^0.6. Source: iso-1585.

    >>> iso_1585(Air(25.0, 100_000.0, 1000.0))
    1.0
    """
    return (99_000.0 / air.dry_pa) ** 1.2 * ((air.t_c + 273.0) / 298.0) ** 0.6


def sae_j1349(air: Air) -> float:
    """1.18 (990 mbar / dry pressure) sqrt(T / 298 K) - 0.18. Source: sae-j1349.

    >>> round(sae_j1349(Air(25.0, 99_000.0, 0.0)), 12)
    1.0
    """
    return 1.18 * (99_000.0 / air.dry_pa) * ((air.t_c + 273.0) / 298.0) ** 0.5 - 0.18


def din_70020(air: Air) -> float:
    """(1013 mbar / pressure with its vapour) sqrt(T / 293 K): the old one, for old figures. Source: din-70020.

    >>> din_70020(Air(20.0, 101_300.0, 1200.0))
    1.0
    """
    return (101_300.0 / air.p_pa) * ((air.t_c + 273.0) / 293.0) ** 0.5


STANDARDS: Mapping[str, Standard] = MappingProxyType(
    {
        "iso-1585": Standard("iso-1585", "iso-1585", iso_1585, "25 °C, 990 hPa dry", (10.0, 45.0), None, (0.93, 1.07)),
        # Limits of J1349 from memory, not looked up.
        "sae-j1349": Standard(
            "sae-j1349", "sae-j1349", sae_j1349, "25 °C, 990 hPa dry", (15.0, 43.0), (90_000.0, 105_000.0), (0.93, 1.07)
        ),
        "din-70020": Standard("din-70020", "din-70020", din_70020, "20 °C, 1013 hPa", None, None, None),
    }
)


def outside(standard: Standard, air: Air) -> str:
    """Why the factor may not be used in this air; nothing where it may."""
    reasons = []
    if standard.t_c and not standard.t_c[0] <= air.t_c <= standard.t_c[1]:
        reasons.append(f"{air.t_c:g} °C is outside {standard.t_c[0]:g} to {standard.t_c[1]:g} °C")
    if standard.dry_pa and not standard.dry_pa[0] <= air.dry_pa <= standard.dry_pa[1]:
        low, high = (round(end / 100) for end in standard.dry_pa)
        reasons.append(f"{air.dry_pa / 100:.0f} hPa of dry air are outside {low} to {high} hPa")
    if standard.factors and not standard.factors[0] <= standard.factor(air) <= standard.factors[1]:
        low_factor, high_factor = standard.factors
        reasons.append(f"the factor {standard.factor(air):.3f} is outside {low_factor:g} to {high_factor:g}")
    return "; ".join(reasons)


def factor(name: str, air: Air) -> float:
    """The factor of a standard by its name (iso-1585, sae-j1349, din-70020).

    Raises TrialError for an unknown name, and outside the factor's limits: then the power is reported as measured,
    with the air it was measured in.

    >>> round(factor("iso-1585", Air(15.0, 101_300.0, 850.0)), 4)
    0.9628
    """
    if name not in STANDARDS:
        raise TrialError(f"a standard called {name}\n    accepted: {', '.join(STANDARDS)}\n    what to do: name one")
    standard = STANDARDS[name]
    if reason := outside(standard, air):
        raise TrialError(
            f"{name} in this air: {reason}\n    accepted: air within its limits\n    what to do: report the power as "
            "measured with the air's temperature, pressure and humidity, or test on another day"
        )
    return standard.factor(air)
