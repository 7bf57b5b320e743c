"""What leaves a cylinder while fresh charge pushes burned gas out: between perfect displacement and perfect mixing.

All models answer one question, the fresh mass fraction of the gas at the exhaust port given that of the cylinder.
Loop-scavenged engines are usually found near the mixing line; short-circuiting can put one below it, which no blend of
the two limits can show.
"""

import math

from numba import njit

# knob: 0 is perfect displacement, 1 perfect mixing. Judgement, no source: a sound loop-scavenged cylinder lies between.
MIXING = 0.7
LAST_BURNED = 0.01


@njit(cache=True, error_model="numpy")
def leaving_fresh_fraction(cylinder_fresh: float, mixing: float) -> float:
    """Fresh mass fraction of the gas that leaves [-]: mixing times that of the cylinder until the burned gas runs out.

    cylinder_fresh : fresh mass fraction in the cylinder [-]; mixing : 0 (perfect displacement) to 1 (perfect mixing).
    At mixing 0 only burned gas leaves while there is any. The last hundredth of burned gas leaves in proportion to
    what is left of it, so that no more leaves than there is. Source of the two limits: hopkinson-1914; between them
    a straight blend (judgement).

    >>> float(leaving_fresh_fraction(0.5, 0.5))
    0.25
    """
    return min(max(mixing * cylinder_fresh, 1.0 - (1.0 - cylinder_fresh) / LAST_BURNED), 1.0)


def scavenging_efficiency(scavenge_ratio: float, mixing: float) -> float:
    """Fresh part of the cylinder [-] after scavenge_ratio cylinder volumes at constant volume and temperature.

    From d(eta)/d(Lambda) = 1 - mixing eta: (1 - exp(-mixing Lambda))/mixing, at most 1.

    >>> round(scavenging_efficiency(0.8, 1.0), 6)
    0.550671
    """
    if mixing == 0.0:
        return min(scavenge_ratio, 1.0)
    return min(-math.expm1(-mixing * scavenge_ratio) / mixing, 1.0)


def trapping_efficiency(scavenge_ratio: float, mixing: float) -> float:
    """Kept part of the charge delivered [-], scavenging efficiency over scavenge ratio.

    >>> round(trapping_efficiency(0.8, 1.0), 6)
    0.688339
    """
    return scavenging_efficiency(scavenge_ratio, mixing) / scavenge_ratio


@njit(cache=True, error_model="numpy")
def leaving_fresh_fraction_of_curve(cylinder_fresh: float, k0: float, k1: float, k2: float) -> float:
    """Fresh mass fraction of the gas that leaves [-] for a measured curve eta = 1 - exp(k0 + k1 L + k2 L^2).

    The curve is scavenging efficiency against scavenge ratio L from a model rig; its slope is what stays of the next
    increment, so 1 - slope leaves. k1 below 0. Kept within 0 and 1. Source of the form: blair-1996.

    >>> round(float(leaving_fresh_fraction_of_curve(0.5, 0.0, -1.0, 0.0)), 6)
    0.5
    """
    if cylinder_fresh >= 1.0:
        return 1.0
    log_burned = math.log(1.0 - max(cylinder_fresh, 0.0))
    slope = -math.sqrt(max(k1 * k1 - 4.0 * k2 * (k0 - log_burned), 0.0))  # of the exponent, at this efficiency
    return min(max(1.0 + slope * (1.0 - cylinder_fresh), 0.0), 1.0)
