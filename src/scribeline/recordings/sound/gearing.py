"""Road speed from engine speed through the gearing, and clutch slip where both were recorded."""

import numpy as np

from scribeline.recordings.recording import Channel

LONGEST_GAP_S = 1.5
"""Between two speeds, over which the road speed is taken as straight (judgement: a satellite receiver's 1 Hz)."""


def geared_speed(rpm: Channel, metres_per_turn: float) -> Channel:
    """The road speed v = rpm / 60 * metres_per_turn, which holds while the clutch does not slip.

    metres_per_turn : m of road for one turn of the crank: tyre circumference over the product of all ratios
    Returns m/s, with the engine speed's +/- and confidence; the gearing is taken as exact.

    >>> geared_speed(Channel([0.0], [6000.0], "rpm"), 0.15).values.tolist()
    [15.0]
    """
    share = metres_per_turn / 60.0
    spread = None if rpm.plus_minus is None else rpm.plus_minus * share
    return Channel(rpm.time_s, rpm.values * share, "m/s", spread, rpm.confidence)


def clutch_slip(rpm: Channel, speed: Channel, metres_per_turn: float) -> Channel:
    """How much of the engine's turning the clutch loses: 1 - v / (rpm / 60 * metres_per_turn).

    rpm, speed : on one clock; instants that no stretch of the speed covers are left out
    Returns a share at the engine speed's instants: 0 locked, 1 standing still; below 0 where the wheels drive or the
    gearing or tyre is other than said. Its +/- holds those of both speeds.

    >>> clutch_slip(Channel([1.0], [6000.0], "rpm"), Channel([0.0, 2.0], [12.0, 12.0], "m/s"), 0.15).values.tolist()
    []
    >>> clutch_slip(Channel([1.0], [6000.0], "rpm"), Channel([0.5, 1.5], [12.0, 12.0], "m/s"), 0.15).values.round(3)
    array([0.2])
    """
    inside = np.zeros(len(rpm), dtype=bool)
    for piece in speed.stretches(longest_gap_s=LONGEST_GAP_S):
        inside |= (rpm.time_s >= speed.time_s[piece][0]) & (rpm.time_s <= speed.time_s[piece][-1])
    time_s, turning = rpm.time_s[inside], rpm.values[inside] / 60.0 * metres_per_turn
    road = np.interp(time_s, speed.time_s, speed.values) if len(time_s) else np.empty(0)
    of_rpm = np.zeros(len(time_s)) if rpm.plus_minus is None else rpm.plus_minus[inside] / rpm.values[inside]
    of_road = np.zeros(len(time_s))
    if speed.plus_minus is not None and len(time_s):
        of_road = np.interp(time_s, speed.time_s, speed.plus_minus) / turning
    confidence = None if rpm.confidence is None else rpm.confidence[inside]
    return Channel(time_s, 1.0 - road / turning, "share", np.hypot(road / turning * of_rpm, of_road), confidence)
