"""Knock: how close the unburned rest of the charge comes to igniting by itself.

Delay after Douaud and Eyzat, added up after Livengood and Wu, turned into the octane number that would just do.
Fitted with primary reference fuels in one slow test engine: expect several octane numbers of error, and use it for
comparing builds, not for choosing a fuel.
"""

import math

from scribeline.kernels.compiling import compiled
from scribeline.models.relation import Constant, Range, Relation

PREFACTOR_MS, OCTANE_EXPONENT, PRESSURE_EXPONENT, ACTIVATION_K = 17.68, 3.402, -1.7, 3800.0
PA_PER_ATM = 101325.0
# Of the octane number needed. Judgement, no source: the delay was fitted in one slow engine.
ERROR_OCTANE = 6.0


@compiled()
def delay_ms(octane: float, p_atm: float, t_k: float) -> float:
    """Time to self-ignition at constant state, tau = 17.68 (ON/100)^3.402 p^-1.7 exp(3800/T) [ms].

    octane : octane number, fitted for 80 to 100; p_atm : pressure [atm]; t_k : temperature of the unburned gas [K]
    Source: douaud-eyzat-1978.

    >>> round(float(delay_ms(95.0, 40.0, 800.0)), 5)
    3.2441
    """
    scale = PREFACTOR_MS * (octane / 100.0) ** OCTANE_EXPONENT
    return scale * p_atm**PRESSURE_EXPONENT * math.exp(ACTIVATION_K / t_k)


def octane_needed(integral: float, octane: float) -> float:
    """Octane number at which the knock integral would just reach 1.

    integral : integral of dt / tau over the unburned time, found with `octane` [-]. The delay goes with
    octane^3.402, so the answer is octane integral^(1/3.402). Source: livengood-wu-1955.

    >>> round(octane_needed(0.5, 95.0), 2)
    77.49
    """
    return octane * integral ** (1.0 / OCTANE_EXPONENT)


RELATION = Relation(
    "knock delay",
    "octane number that the charge asks for",
    ("douaud-eyzat-1978", "livengood-wu-1955"),
    (),
    (Range("octane needed", 80.0, 100.0),),
    (
        Constant("PREFACTOR_MS", PREFACTOR_MS, "ms", "douaud-eyzat-1978"),
        Constant("OCTANE_EXPONENT", OCTANE_EXPONENT, "", "douaud-eyzat-1978"),
        Constant("PRESSURE_EXPONENT", PRESSURE_EXPONENT, "", "douaud-eyzat-1978"),
        Constant("ACTIVATION_K", ACTIVATION_K, "K", "douaud-eyzat-1978"),
        Constant("ERROR_OCTANE", ERROR_OCTANE, "octane", "judgement"),
    ),
)
