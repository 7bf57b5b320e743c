"""What a plain pipe or a bottle sings: lowest resonances, and how much longer an open end makes a pipe sound.

Small-amplitude acoustics of gas at rest, for checking the simulation and for a first idea of a length. Not for tuned
exhausts: there the gas moves, the temperature changes along the pipe and the waves are not small.
"""

import math

from scribeline.kernels.gas import FloatArray, gamma_of, gas_constant
from scribeline.models.relation import Knob, Relation

UNFLANGED_END_RADII = 0.6133
FLANGED_END_RADII = 8.0 / (3.0 * math.pi)


def open_end_correction_m(inside_diameter_m: float, flanged: bool = False) -> float:
    """Length by which an open pipe end sounds longer than it is [m], in the limit of low frequency.

    0.6133 radii for an end that stands free, 8/(3 pi) = 0.849 radii for one in a wide wall. The simulation adds it to
    the length of a duct that opens into the air, because its own open end holds the pressure exactly at the rim.

    inside_diameter_m : inside diameter at the rim [m]; valid for wavelengths many times that
    Source: levine-schwinger-1948; the flanged value is Rayleigh's piston in a wall.

    >>> round(open_end_correction_m(0.03), 7)
    0.0091995
    """
    return (FLANGED_END_RADII if flanged else UNFLANGED_END_RADII) * 0.5 * inside_diameter_m


def sound_speed_m_s(gas: FloatArray, t_k: float, fresh: float) -> float:
    """Sound speed sqrt(gamma R T) [m/s] of a gas law at t_k [K] and fresh mass fraction [-].

    >>> from scribeline.kernels.gas import perfect_gas
    >>> round(sound_speed_m_s(perfect_gas(1.4, 287.05), 293.15, 0.0), 3)
    343.232
    """
    return math.sqrt(gamma_of(gas, t_k, fresh) * gas_constant(gas, fresh) * t_k)


def closed_open_hz(length_m: float, sound_m_s: float, inside_diameter_m: float = 0.0, mode: int = 0) -> float:
    """Resonance of a pipe closed at one end [Hz], f = (2 k + 1) c / (4 (L + correction)), k = mode from 0.

    inside_diameter_m : for the correction of the one open end; 0 leaves it out.

    >>> round(closed_open_hz(0.3, 343.231977676906, 0.03), 4)
    277.5166
    """
    return (2 * mode + 1) * sound_m_s / (4.0 * (length_m + open_end_correction_m(inside_diameter_m)))


def open_open_hz(length_m: float, sound_m_s: float, inside_diameter_m: float = 0.0, mode: int = 0) -> float:
    """Resonance of a pipe open at both ends [Hz], f = (k + 1) c / (2 (L + two corrections)), k = mode from 0.

    >>> round(open_open_hz(0.3, 343.231977676906, 0.03), 4)
    538.9966
    """
    return (mode + 1) * sound_m_s / (2.0 * (length_m + 2.0 * open_end_correction_m(inside_diameter_m)))


def helmholtz_hz(
    volume_m3: float, neck_length_m: float, neck_diameter_m: float, sound_m_s: float, corrected: bool = True
) -> float:
    """Resonance of a closed volume with a neck [Hz], f = c / (2 pi) sqrt(A / (V L)).

    corrected : neck length with one free and one flanged end correction. Valid while volume and neck are short
    against the wavelength. Source: any text on acoustics (lumped masses and springs).

    >>> round(helmholtz_hz(0.0003, 0.1, 0.02, 343.231977676906), 4)
    165.1162
    """
    ends = open_end_correction_m(neck_diameter_m) + open_end_correction_m(neck_diameter_m, flanged=True)
    length = neck_length_m + (ends if corrected else 0.0)
    area = 0.25 * math.pi * neck_diameter_m**2
    return sound_m_s / (2.0 * math.pi) * math.sqrt(area / (volume_m3 * length))


RELATION = Relation(
    "open ends",
    "how much longer an open end makes a duct, in radii; 0 leaves the correction out",
    ("levine-schwinger-1948",),
    (Knob("open_end_radii", UNFLANGED_END_RADII, "", "levine-schwinger-1948", 0.0, 1.0),),
)
