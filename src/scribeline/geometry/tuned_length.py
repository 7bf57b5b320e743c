"""Handbook arithmetic of a tuned pipe, and of mean pressure and power.

The wave that leaves the piston at exhaust opening and comes back from the baffle travels twice the tuned length while
the exhaust is open. That is all the published formula says, in inches or in metres; what it needs is the mean speed of
sound in the pipe, which nobody has measured: state it, and say that it is an assumption. The proportions are the
handbook's, with their cautions, from `scribeline.data.handbook`. Nothing here is a simulation.

Arguments are numbers or arrays of shapes that broadcast. Sources: jennings-1973 (see each entry of the table for how
the number reached us), definition.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from scribeline.data.handbook import handbook
from scribeline.geometry.broadcast import FloatArray

EXHAUST_TIME_AREA = handbook()["exhaust_time_area_s_cm2_per_cm3"]
TRANSFER_TIME_AREA = handbook()["transfer_time_area_s_cm2_per_cm3"]
PISTON_INTAKE_TIME_AREA = handbook()["piston_intake_time_area_s_cm2_per_cm3"]
ROTARY_INTAKE_TIME_AREA = handbook()["rotary_intake_time_area_s_cm2_per_cm3"]
DIFFUSER_TAPER = handbook()["diffuser_included_taper_deg"]
DIFFUSER_TAPER_LIMITS = handbook()["diffuser_taper_limits_deg"]
DIFFUSER_AREA_RATIO = handbook()["diffuser_area_ratio"]
BAFFLE_TAPER = handbook()["baffle_included_taper_deg"]
STINGER_DIAMETER_RATIO = handbook()["stinger_diameter_ratio"]
STINGER_LENGTH_RATIO = handbook()["stinger_length_ratio"]
WAVE_SPEED = handbook()["wave_speed_ft_s"]
"""Published guides with low, high, unit, source, provenance and caution; show the caution wherever the number is."""


class Stinger(NamedTuple):
    """The handbook's stinger for a header: diameters and lengths, mm, and the caution that goes with them.

    Lengths are those of the smallest and of the largest diameter.
    """

    smallest_mm: FloatArray
    largest_mm: FloatArray
    length_of_smallest_mm: FloatArray
    length_of_largest_mm: FloatArray
    caution: str


def open_time_ms(duration_deg: npt.ArrayLike, speed_rpm: npt.ArrayLike) -> FloatArray:
    """Return how long a port is open in one turn, ms: 1000 E/(6 N).

    duration_deg : deg of crank; speed_rpm : rev/min, above 0; otherwise nan

    >>> round(float(open_time_ms(180.0, 6300.0)), 6)
    4.761905
    """
    time: FloatArray = 1000.0 * _float(duration_deg) / (6.0 * _positive(speed_rpm))
    return time


def tuned_length_mm(
    exhaust_duration_deg: npt.ArrayLike, speed_rpm: npt.ArrayLike, wave_speed_m_s: npt.ArrayLike
) -> FloatArray:
    """Return the tuned length, mm: 1000 c E/(12 N), which is 2 L = c E/(6 N).

    From the piston's face to the mid point of the baffle cone, along the middle line.

    exhaust_duration_deg : deg of crank; speed_rpm : the speed it is to work best at, rev/min, above 0; otherwise nan
    wave_speed_m_s : mean speed of the wave over the way out and back, m/s, an assumption

    >>> round(float(tuned_length_mm(180.0, 6300.0, 518.16)), 4)
    1233.7143
    """
    length: FloatArray = 1000.0 * _float(wave_speed_m_s) * _float(exhaust_duration_deg) / (12.0 * _positive(speed_rpm))
    return length


def tuned_speed_rpm(
    length_mm: npt.ArrayLike, exhaust_duration_deg: npt.ArrayLike, wave_speed_m_s: npt.ArrayLike
) -> FloatArray:
    """Return the crank speed a pipe is tuned for, rev/min: 1000 c E/(12 L); the inverse of `tuned_length_mm`.

    length_mm : piston's face to the mid point of the baffle, mm, above 0; otherwise nan; other arguments as there

    >>> round(float(tuned_speed_rpm(792.857143, 185.0, 540.0)), 3)
    10500.0
    """
    speed: FloatArray = 1000.0 * _float(wave_speed_m_s) * _float(exhaust_duration_deg) / (12.0 * _positive(length_mm))
    return speed


def published_tuned_length_in(
    exhaust_duration_deg: npt.ArrayLike, speed_rpm: npt.ArrayLike, wave_speed_ft_s: npt.ArrayLike = WAVE_SPEED.value
) -> FloatArray:
    """Return the tuned length as published, inches: E Vs/N with Vs in ft/s. Source: jennings-1973.

    The same as `tuned_length_mm`: twelve inches to the foot cancel the 12. wave_speed_ft_s : 1700 unless stated.

    >>> round(float(published_tuned_length_in(180.0, 6300.0)), 6)
    48.571429
    """
    length: FloatArray = _float(exhaust_duration_deg) * _float(wave_speed_ft_s) / _positive(speed_rpm)
    return length


def diffuser_outlet_mm(inlet_mm: npt.ArrayLike) -> FloatArray:
    """Return the handbook's outlet diameter of a single-stage diffuser, mm: inlet sqrt(6.25). Source: jennings-1973.

    inlet_mm : diameter at the diffuser's start, mm

    >>> float(diffuser_outlet_mm(38.1))
    95.25
    """
    outlet: FloatArray = _float(inlet_mm) * np.sqrt(DIFFUSER_AREA_RATIO.value)
    return outlet


def stinger_guide(header_mm: npt.ArrayLike) -> Stinger:
    """Return the handbook's range of stinger diameters for a header, and their lengths. Source: jennings-1973.

    Always show `caution` with it: a stinger too small overheats the piston.

    header_mm : inside diameter of the header, mm

    >>> guide = stinger_guide(30.0)
    >>> round(float(guide.smallest_mm), 3), round(float(guide.largest_mm), 3)
    (17.4, 18.6)
    """
    smallest, largest = (_float(header_mm) * r for r in (STINGER_DIAMETER_RATIO.low, STINGER_DIAMETER_RATIO.high))
    lengths = STINGER_LENGTH_RATIO.value * smallest, STINGER_LENGTH_RATIO.value * largest
    return Stinger(smallest, largest, *lengths, STINGER_DIAMETER_RATIO.caution)


def power_kw(bmep_bar: npt.ArrayLike, displacement_cc: npt.ArrayLike, speed_rpm: npt.ArrayLike) -> FloatArray:
    """Return the power of a two-stroke, kW: bmep V N/60, one working stroke in every turn.

    bmep_bar : brake mean effective pressure, bar; displacement_cc : of all cylinders, cc; speed_rpm : rev/min

    >>> float(power_kw(6.0, 125.0, 9000.0))
    11.25
    """
    watts = _float(bmep_bar) * 1e5 * _float(displacement_cc) * 1e-6 * _float(speed_rpm) / 60.0
    power: FloatArray = watts / 1000.0
    return power


def bmep_bar(brake_power_kw: npt.ArrayLike, displacement_cc: npt.ArrayLike, speed_rpm: npt.ArrayLike) -> FloatArray:
    """Return the brake mean effective pressure of a two-stroke, bar: 60 P/(V N); the inverse of `power_kw`.

    brake_power_kw : at the crank, kW; displacement_cc and speed_rpm must be above 0; otherwise nan

    >>> round(float(bmep_bar(14.92, 125.0, 10500.0)), 6)
    6.820571
    """
    watts = _float(brake_power_kw) * 1000.0
    pressure: FloatArray = watts * 60.0 / (_positive(displacement_cc) * 1e-6 * _positive(speed_rpm)) / 1e5
    return pressure


def _float(number: npt.ArrayLike) -> FloatArray:
    return np.asarray(number, dtype=np.float64)


def _positive(number: npt.ArrayLike) -> FloatArray:
    array = _float(number)
    return np.where(array > 0.0, array, np.nan)
