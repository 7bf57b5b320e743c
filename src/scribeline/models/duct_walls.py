"""What the wall of a duct does to the gas: friction, heat, bends."""

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
