"""A reed petal as a spring and a mass: the first bending mode of a clamped strip of even thickness."""

import math

from scribeline.models.relation import Constant, Range, Relation

# Clamped strip, exact: first natural frequency 1.8751^2 / L^2 sqrt(E I / (rho A)); tip stiffness 3 E I / L^3.
FIRST_ROOT = 1.8751040687
DAMPING = 0.1  # ratio to critical, air and clamping together. Judgement; of a petal, so it stands with the reed.
REBOUND = 0.3  # speed kept at seat and stop. Judgement.
# Bending stiffness along the petal [Pa] and density [kg/m^3]; handbook values from memory, sheets differ by a quarter.
MATERIALS = {"glass fibre": (20e9, 1850.0), "carbon fibre": (60e9, 1550.0), "steel": (205e9, 7850.0)}


def tip_stiffness_n_m(length_m: float, width_m: float, thickness_m: float, modulus_pa: float) -> float:
    """Force at the tip per lift of the tip [N/m], 3 E I / L^3 with I = b t^3 / 12.

    >>> round(tip_stiffness_n_m(0.03, 0.02, 0.0004, 20e9), 2)
    237.04
    """
    return 3.0 * modulus_pa * width_m * thickness_m**3 / 12.0 / length_m**3


def natural_hz(length_m: float, thickness_m: float, modulus_pa: float, density_kg_m3: float) -> float:
    """First natural frequency [Hz] of the petal in vacuum; does not depend on its width.

    >>> round(natural_hz(0.03, 0.0004, 20e9, 1850.0), 1)
    236.1
    """
    radius = thickness_m / math.sqrt(12.0)  # of gyration
    return FIRST_ROOT**2 / (2.0 * math.pi * length_m**2) * radius * math.sqrt(modulus_pa / density_kg_m3)


def tip_mass_kg(stiffness_n_m: float, frequency_hz: float) -> float:
    """Mass at the tip [kg] that gives the spring the petal's natural frequency.

    >>> round(1e3 * tip_mass_kg(237.04, 236.1), 4)
    0.1077
    """
    return stiffness_n_m / (2.0 * math.pi * frequency_hz) ** 2


def tip_force_n(pressure_pa: float, width_m: float, length_m: float) -> float:
    """Force at the tip [N] that bends the petal as far as an even pressure on all of it: 3/8 p b L.

    >>> round(tip_force_n(1000.0, 0.02, 0.03), 3)
    0.225
    """
    return 0.375 * pressure_pa * width_m * length_m


RELATION = Relation(
    "reed petals",
    "lift of the petals: first bending mode of a strip",
    ("geometry", "judgement"),
    (),
    (Range("lift over petal length", 0.0, 0.35),),  # beyond it the bending is not small; judgement
    (Constant("DAMPING", DAMPING, "", "judgement"), Constant("REBOUND", REBOUND, "", "judgement")),
)
