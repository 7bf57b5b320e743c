"""One turn of the crank as a table, for a page that turns it: where piston, rod and open areas are at each angle.

The browser reads the table and works nothing out, so that what moves on the page is what the card's geometry says,
pin offset and all.
"""

from dataclasses import dataclass

import numpy as np

from scribeline.geometry import kinematics
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.work_out import WorkedOut
from scribeline.geometry.working import FloatArray

STEP_DEG = 0.5


@dataclass(frozen=True)
class Turn:
    """Every STEP_DEG from top dead centre on, once round, in the direction the engine runs.

    depth_mm : the crown below its top dead centre
    tilt_deg : the rod's lean against upright, clockwise as drawn with the exhaust on the right
    bdc_deg : bottom dead centre after top dead centre
    """

    depth_mm: tuple[float, ...]
    tilt_deg: tuple[float, ...]
    bdc_deg: float


def angles_deg() -> FloatArray:
    """The angles of the table, degrees after top dead centre."""
    return np.arange(0.0, 360.0, STEP_DEG)


def turn_of(out: WorkedOut) -> Turn:
    """The turn of an engine that was worked out."""
    stroke, rod, offset = (float(out.samples[name][0]) for name in CRANK.values())
    theta = angles_deg()
    depth = kinematics.depth_mm(theta, stroke, rod, offset)
    turned = np.radians(theta + float(kinematics.dead_centres_deg(stroke, rod, offset).tdc_phi_deg))
    # The crank pin lies to the side of the gudgeon pin's path by this much; the rod leans over it.
    tilt = np.degrees(np.arcsin((offset - 0.5 * stroke * np.sin(turned)) / rod))
    bdc = float(kinematics.bdc_after_tdc_deg(stroke, rod, offset))
    return Turn(tuple(np.round(depth, 4).tolist()), tuple(np.round(tilt, 4).tolist()), bdc)
