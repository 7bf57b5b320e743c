"""Heat from the gas to the cylinder walls after Annand: a pipe-flow relation with the piston speed as velocity."""

import math

from scribeline.kernels.compiling import compiled
from scribeline.models.relation import Constant, Knob, Range, Relation

# annand-1963: a between 0.35 and 0.8 with the intensity of charge motion, b = 0.7. Radiation is left out, as usual for
# spark ignition. Valid: fitted to data of two- and four-stroke engines of 10 to 30 cm bore; used far below that here.
A = 0.45  # knob, the one to turn for the heat balance
B = 0.7
PRANDTL = 0.7


@compiled(inline="always")
def viscosity_pa_s(t_k: float) -> float:
    """Dynamic viscosity of air [Pa s]; valid 100 to 1900 K, extrapolated above. Source: sutherland-air.

    >>> round(1e6 * float(viscosity_pa_s(288.15)), 3)
    17.894
    """
    return 1.458e-6 * t_k * math.sqrt(t_k) / (t_k + 110.4)


@compiled()
def heat_coefficient_w_m2k(
    bore_m: float, mean_piston_speed_m_s: float, rho_kg_m3: float, t_k: float, cp_j_kgk: float, a: float
) -> float:
    """Heat transfer coefficient h = a (k/B) Re^0.7 [W/(m^2 K)], Re = rho Sp B/mu, k = cp mu/0.7.

    a : knob `A`. Source: annand-1963.

    >>> round(float(heat_coefficient_w_m2k(0.05, 14.0, 3.5, 1800.0, 1350.0, 0.45)), 0)
    1744.0
    """
    mu = viscosity_pa_s(t_k)
    reynolds = rho_kg_m3 * mean_piston_speed_m_s * bore_m / mu
    return a * cp_j_kgk * mu / PRANDTL / bore_m * reynolds**B


RELATION = Relation(
    "Annand's heat loss",
    "heat from the gas to the walls of the cylinder",
    ("annand-1963", "sutherland-air"),
    (Knob("annand_a", A, "", "annand-1963", 0.0, 2.0),),
    (Range("bore", 100.0, 300.0), Range("gas in the cylinder", 100.0, 1900.0)),
    (Constant("B", B, "", "annand-1963"), Constant("PRANDTL", PRANDTL, "", "annand-1963")),
)
