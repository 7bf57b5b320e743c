"""How the charge burns: the Wiebe curve, and how long it takes.

The curve's shape is one of the two knobs a test bench would fix; the other is the duration. Where dissociation
matters (above some 2200 K) the fitted curves of the literature already contain its effect on the apparent burn rate.
"""

import math

from scribeline.kernels.compiling import compiled
from scribeline.models.relation import Constant, Knob, Range, Relation

# Valid: spark-ignited engines of any size; a = 5, m = 2 are the usual values (wiebe-1962, heywood-1988 section 9.2).
SHAPE_A = 5.0  # knob: 5 leaves 0.7 % unburned at the end, 6.908 leaves 0.1 %
SHAPE_M = 2.0  # knob: larger starts slower
# Judgement, no source: durations of small loop-scavenged engines are commonly put between 40 and 60 degrees.
BASE_DURATION_DEG = 48.0  # knob, at BASE_SPEED_RPM with BASE_RESIDUAL
BASE_SPEED_RPM = 8000.0
BASE_RESIDUAL = 0.2
SPEED_EXPONENT = 0.3  # turbulence grows nearly with speed, so the angle grows only slowly
RESIDUAL_SLOPE = 1.5  # relative duration per unit of residual fraction
# Squish stirs the charge just as the flame spreads. Highest squish velocity over mean piston speed is 1 to 1.5 where
# the gap is as handbooks ask. Judgement, no source.
USUAL_SQUISH = 1.2
SQUISH_SLOPE = 0.25  # knob: relative duration per unit of that ratio


@compiled()
def burned_fraction(theta_deg: float, start_deg: float, duration_deg: float, a: float, m: float) -> float:
    """Burned mass fraction x = 1 - exp(-a ((theta - start)/duration)^(m+1)) [-].

    theta_deg, start_deg : crank angle after top dead centre [deg]; duration_deg : nominal duration [deg], above 0
    a, m : shape [-]. 0 before the start; past the nominal end the curve simply goes on towards 1. Source: wiebe-1962.

    >>> round(float(burned_fraction(7.0, -18.0, 50.0, 5.0, 2.0)), 6)
    0.464739
    """
    x = (theta_deg - start_deg) / duration_deg
    if x <= 0.0:
        return 0.0
    return -math.expm1(-a * x ** (m + 1.0))


@compiled()
def burn_rate_per_deg(theta_deg: float, start_deg: float, duration_deg: float, a: float, m: float) -> float:
    """Slope of `burned_fraction` [1/deg].

    >>> round(float(burn_rate_per_deg(7.0, -18.0, 50.0, 5.0, 2.0)), 6)
    0.040145
    """
    x = (theta_deg - start_deg) / duration_deg
    if x <= 0.0:
        return 0.0
    return a * (m + 1.0) / duration_deg * x**m * math.exp(-a * x ** (m + 1.0))


def angle_of_fraction_deg(fraction: float, start_deg: float, duration_deg: float, a: float, m: float) -> float:
    """Crank angle [deg] at which a fraction, 0 to below 1, is burned.

    >>> round(angle_of_fraction_deg(0.5, -18.0, 50.0, 5.0, 2.0), 4)
    7.8775
    """
    return start_deg + duration_deg * (-math.log1p(-fraction) / a) ** (1.0 / (m + 1.0))


@compiled()
def duration_deg(base_deg: float, speed_rpm: float, residual: float) -> float:
    """Nominal burn duration [deg]: base (N/8000)^0.3 (1 + 1.5 (residual - 0.2)), not below half the base.

    base_deg : duration at 8000 rpm with 20 % residual gas; speed_rpm : 1000 to 15000; residual : burned mass fraction
    of the trapped charge [-], 0 to 0.6, taken as 0.6 above. Judgement, no source.

    >>> round(float(duration_deg(48.0, 8000.0, 0.2)), 1)
    48.0
    """
    factor = 1.0 + RESIDUAL_SLOPE * (min(max(residual, 0.0), 0.6) - BASE_RESIDUAL)
    return base_deg * max((speed_rpm / BASE_SPEED_RPM) ** SPEED_EXPONENT * factor, 0.5)


def squish_factor(squish_over_piston: float, slope: float = SQUISH_SLOPE) -> float:
    """Burn duration over that with usual squish [-]: 1 - 0.25 (ratio - 1.2), kept between 0.85 and 1.15.

    squish_over_piston : highest squish velocity over mean piston speed [-]; it does not depend on the speed.
    slope : the knob SQUISH_SLOPE. Judgement, no source.

    >>> squish_factor(1.2), round(squish_factor(1.6), 3), squish_factor(0.0)
    (1.0, 0.9, 1.15)
    """
    return min(max(1.0 - slope * (squish_over_piston - USUAL_SQUISH), 0.85), 1.15)


RELATION = Relation(
    "Wiebe's burn",
    "how fast the charge burns",
    ("wiebe-1962", "heywood-1988", "judgement"),
    (
        Knob("burn_deg", BASE_DURATION_DEG, "deg", "judgement", 20.0, 120.0),
        Knob("wiebe_a", SHAPE_A, "", "wiebe-1962", 2.3, 7.0),
        Knob("wiebe_m", SHAPE_M, "", "wiebe-1962", 0.5, 5.0),
        Knob("squish_slope", SQUISH_SLOPE, "", "judgement", 0.0, 1.0),
    ),
    (Range("crank speed", 1000.0, 15000.0), Range("residual gas", 0.0, 0.6), Range("squish over piston", 0.6, 1.8)),
    (
        Constant("BASE_SPEED_RPM", BASE_SPEED_RPM, "rev/min", "judgement"),
        Constant("BASE_RESIDUAL", BASE_RESIDUAL, "", "judgement"),
        Constant("SPEED_EXPONENT", SPEED_EXPONENT, "", "judgement"),
        Constant("RESIDUAL_SLOPE", RESIDUAL_SLOPE, "", "judgement"),
        Constant("USUAL_SQUISH", USUAL_SQUISH, "", "judgement"),
    ),
)
