"""What leaves a cylinder while fresh charge pushes burned gas out: displacement, mixing, between them, or a curve.

All models answer one question, the fresh mass fraction of the gas at the exhaust port given that of the cylinder, and
none lets more burned gas out than there is. Short-circuiting can put a real cylinder below the mixing line; of the
models here only a measured curve can show that.
"""

import math

from scribeline.kernels.compiling import compiled
from scribeline.models.relation import Constant, Knob, Range, Relation

# knob: 0 is perfect displacement, 1 perfect mixing. Judgement, no source: loop-scavenged cylinders are usually found
# above the mixing line and below a curve of 1 - exp(-L - 0.3 L^2); 0.7 lies in the middle.
MIXING = 0.7
LEAST_MIXING = 0.1  # of the time loop: anything sharper would let out in one step more burned gas than there is


@compiled()
def leaving_fresh_fraction(cylinder_fresh: float, mixing: float) -> float:
    """Fresh mass fraction of the gas that leaves [-]: that of the cylinder to the power 1/mixing.

    cylinder_fresh : fresh mass fraction in the cylinder [-]; mixing : 0 (perfect displacement: only burned gas leaves
    while there is any) to 1 (perfect mixing: what leaves is what is there), below LEAST_MIXING taken as that. Between
    them the gas at the port lags behind the cylinder, and the last burned gas fades instead of ending at once. Source
    of the two limits: hopkinson-1914; the power between them is ours (judgement).

    >>> float(leaving_fresh_fraction(0.5, 0.5))
    0.25
    """
    return min(max(cylinder_fresh, 0.0), 1.0) ** (1.0 / max(mixing, LEAST_MIXING))


@compiled()
def leaving_fresh_fraction_of_curve(cylinder_fresh: float, k0: float, k1: float, k2: float) -> float:
    """Fresh mass fraction of the gas that leaves [-] for a measured curve eta = 1 - exp(k0 + k1 L + k2 L^2).

    The curve is scavenging efficiency against scavenge ratio L, both by volume, from a model rig; its slope is what
    stays of the next increment, so 1 - slope leaves. k1 below 0. Kept within 0 and 1. Source of the form: blair-1996,
    from memory; its table of measured cylinders was not to hand, so no coefficients are brought. (0, -1, 0) is perfect
    mixing.

    >>> round(float(leaving_fresh_fraction_of_curve(0.5, 0.0, -1.0, 0.0)), 6)
    0.5
    """
    if cylinder_fresh >= 1.0:
        return 1.0
    log_burned = math.log(1.0 - max(cylinder_fresh, 0.0))
    slope = -math.sqrt(max(k1 * k1 - 4.0 * k2 * (k0 - log_burned), 0.0))  # of the exponent, at this efficiency
    return min(max(1.0 + slope * (1.0 - cylinder_fresh), 0.0), 1.0)


@compiled()
def leaving(cylinder_fresh: float, mixing: float, k0: float, k1: float, k2: float) -> float:
    """Fresh mass fraction of the gas that leaves [-]: of the measured curve where k1 is below 0, else of `mixing`.

    >>> float(leaving(0.5, 0.5, 0.0, 0.0, 0.0)), round(float(leaving(0.5, 0.5, 0.0, -1.0, 0.0)), 6)
    (0.25, 0.5)
    """
    if k1 < 0.0:
        return leaving_fresh_fraction_of_curve(cylinder_fresh, k0, k1, k2)
    return leaving_fresh_fraction(cylinder_fresh, mixing)


def scavenging_efficiency(scavenge_ratio: float, mixing: float, steps: int = 400) -> float:
    """Fresh part of the cylinder [-] after scavenge_ratio cylinder volumes at constant volume and temperature.

    d(eta)/d(Lambda) = 1 - eta^(1/mixing): exactly min(Lambda, 1) at mixing 0 and 1 - exp(-Lambda) at 1, tanh(Lambda)
    at 0.5; otherwise by Runge and Kutta, to 1e-8.

    >>> round(scavenging_efficiency(0.8, 1.0), 6), round(scavenging_efficiency(0.8, 0.5), 6)
    (0.550671, 0.664037)
    """
    if mixing == 0.0:
        return min(scavenge_ratio, 1.0)
    if mixing == 1.0:
        return -math.expm1(-scavenge_ratio)

    def slope(eta: float) -> float:
        return 1.0 - min(max(eta, 0.0), 1.0) ** (1.0 / mixing)

    eta, h = 0.0, scavenge_ratio / steps
    for _ in range(steps):
        a = slope(eta)
        b = slope(eta + 0.5 * h * a)
        c = slope(eta + 0.5 * h * b)
        eta += h / 6.0 * (a + 2.0 * b + 2.0 * c + slope(eta + h * c))
    return min(eta, 1.0)


def scavenging_efficiency_of_curve(scavenge_ratio: float, k0: float, k1: float, k2: float) -> float:
    """The measured curve itself, 1 - exp(k0 + k1 L + k2 L^2) [-], not below 0.

    >>> round(scavenging_efficiency_of_curve(0.8, 0.0, -1.0, 0.0), 6)
    0.550671
    """
    return max(-math.expm1(k0 + k1 * scavenge_ratio + k2 * scavenge_ratio**2), 0.0)


def trapping_efficiency(scavenge_ratio: float, mixing: float) -> float:
    """Kept part of the charge delivered [-], scavenging efficiency over scavenge ratio.

    >>> round(trapping_efficiency(0.8, 1.0), 6)
    0.688339
    """
    return scavenging_efficiency(scavenge_ratio, mixing) / scavenge_ratio


RELATION = Relation(
    "scavenging",
    "what leaves the cylinder while fresh charge comes in",
    ("hopkinson-1914", "blair-1996", "judgement"),
    (Knob("mixing", MIXING, "", "judgement", 0.0, 1.0),),
    (Range("delivery ratio", 0.0, 1.5),),  # model rigs are rarely run further; judgement
    (Constant("LEAST_MIXING", LEAST_MIXING, "", "judgement"),),
)
