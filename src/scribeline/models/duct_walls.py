"""What the wall of a duct does to the gas: friction, heat, bends."""

from scribeline.models.relation import Constant, Knob, Range, Relation

# Fanning friction factor of technically rough small pipes, Reynolds number 1e4 to 1e5: Blasius gives 0.0045 to 0.008
# for smooth ones. Judgement; knob.
FANNING = 0.008
# Heat transfer over friction, St / (f/2): Reynolds analogy, 1 to 1.3 for gases. Pulsation raises it further. Knob.
ANALOGY = 1.2


def friction_per_m(diameter_m: float, fanning: float = FANNING, bend_loss: float = 0.0, length_m: float = 1.0) -> float:
    """Momentum loss of the duct kernels, 2 f/D + K/(2 L) [1/m]: d(rho u)/dt = -this rho u |u|.

    diameter_m : [m]; bend_loss : K of the bends over length_m, pressure loss in units of rho u^2/2 [-].

    >>> friction_per_m(0.04, 0.008)
    0.4
    """
    return 2.0 * fanning / diameter_m + 0.5 * bend_loss / length_m


def heat_per_m(diameter_m: float, fanning: float = FANNING, analogy: float = ANALOGY) -> float:
    """Heat transfer of the duct kernels, 4 St/D [1/m], with St = analogy f/2.

    >>> round(heat_per_m(0.04, 0.008, 1.0), 6)
    0.4
    """
    return 2.0 * analogy * fanning / diameter_m


# weisbach-1855, from memory: pressure loss of a smooth quarter bend in units of rho u^2/2, 0.131 + 1.847 (r/R)^3.5.
BEND_LEAST, BEND_SLOPE, BEND_EXPONENT = 0.131, 1.847, 3.5
USUAL_BEND_RADII = 3.0  # middle-line radius over inside radius where nobody measured it: a mandrel bend. Judgement.


def bend_loss(bend_deg: float, diameter_m: float, radius_m: float) -> float:
    """Loss of a smooth bend [-], K of p = K rho u^2/2: (0.131 + 1.847 (D/2R)^3.5) angle/90.

    bend_deg : angle turned, in all [deg]; diameter_m : inside diameter; radius_m : of the middle line. Valid for
    D/2R from 0.1 to 1; a tighter bend counts as 1. Steady flow of water in cast pipes: good to half of itself here.
    Source: weisbach-1855.

    >>> round(bend_loss(90.0, 0.04, 0.04), 4)
    0.2943
    """
    share = min(0.5 * diameter_m / radius_m, 1.0)
    return (BEND_LEAST + BEND_SLOPE * share**BEND_EXPONENT) * bend_deg / 90.0


RELATION = Relation(
    "duct walls",
    "friction, heat and bends of the ducts",
    ("judgement", "weisbach-1855"),
    (Knob("fanning", FANNING, "", "judgement", 0.0, 0.05), Knob("analogy", ANALOGY, "", "judgement", 0.0, 10.0)),
    (Range("Reynolds number", 1e4, 1e5), Range("bend tightness", 0.1, 1.0)),
    (
        Constant("BEND_LEAST", BEND_LEAST, "", "weisbach-1855"),
        Constant("BEND_SLOPE", BEND_SLOPE, "", "weisbach-1855"),
        Constant("BEND_EXPONENT", BEND_EXPONENT, "", "weisbach-1855"),
    ),
)
