"""An invented 100 cm3 engine for the tests: no real engine, numbers chosen by us."""

import math
from dataclasses import replace

from scribeline.cycle.cylinder import Cylinder
from scribeline.cycle.engine import Engine, Reed, Section, Transfer, crown_window_m2, skirt_window_m2

CYLINDER = Cylinder(bore_m=0.050, stroke_m=0.051, rod_m=0.100, clearance_m3=9.2e-6)
PIPE = [
    Section(0.06, 0.036, 0.036, 550.0),
    Section(0.25, 0.036, 0.041, 550.0),
    Section(0.23, 0.041, 0.095, 500.0),
    Section(0.09, 0.095, 0.095, 480.0),
    Section(0.19, 0.095, 0.022, 480.0),
    Section(0.22, 0.022, 0.022, 480.0),
]


def engine(exhaust_deg: float = 178.0, pipe_factor: float = 1.0, reed: bool = False) -> Engine:
    """The engine with a given exhaust duration and all pipe lengths times a factor."""
    opens = math.radians(180.0 - 0.5 * exhaust_deg)
    transfer_opens = math.radians(180.0 - 0.5 * 124.0)
    bottom = 0.051
    roof = depth(opens)
    transfer_roof = depth(transfer_opens)
    intake = (
        skirt_window_m2(CYLINDER, 0.056, 0.072, 0.032, 0.056)
        if not reed
        else crown_window_m2(CYLINDER, -1, -1 + 6e-4, 1)
    )
    return Engine(
        cylinder=CYLINDER,
        case_at_tdc_m3=3.4e-4,
        exhaust_opens_rad=opens,
        exhaust_area_m2=crown_window_m2(CYLINDER, roof, bottom, 0.033),
        exhaust=[replace(s, length_m=s.length_m * pipe_factor) for s in PIPE],
        transfers=[Transfer(crown_window_m2(CYLINDER, transfer_roof, bottom, 0.052), 0.07, 7e-4)],
        intake=[Section(0.05, 0.034, 0.024), Section(0.11, 0.024, 0.028)],
        intake_area_m2=intake,
        reed=Reed(6, 0.03, 0.02, 0.0004, 0.008) if reed else None,
    )


def depth(theta: float) -> float:
    r, rod = 0.5 * CYLINDER.stroke_m, CYLINDER.rod_m
    return r * (1 - math.cos(theta)) + rod - math.sqrt(rod**2 - (r * math.sin(theta)) ** 2)
