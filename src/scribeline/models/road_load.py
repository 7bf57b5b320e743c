"""What holds a vehicle back on a road: rolling, the air with its wind, and the slope.

Along the road, positive against the motion: F = F0 + F1 v + F2 (v + w)|v + w| + m g sin(slope), w the wind's part
against the motion. The three-term form is that of 40 CFR 1066.301; F1 is left at 0 where nobody measured it.
"""

import math
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = TypeVar("Floats", float, NDArray[np.float64])

G_M_S2 = 9.80665
"""Standard gravity, exact by definition."""


@dataclass(frozen=True)
class RoadLoad:
    """F0 [N], F1 [N s/m], F2 [N s²/m²], the slope as rise over distance travelled flat, the head wind [m/s]."""

    f0_n: float
    f1_n_s_m: float = 0.0
    f2_n_s2_m2: float = 0.0
    mass_kg: float = 0.0
    grade: float = 0.0
    head_wind_m_s: float = 0.0

    def force_n(self, v_m_s: Floats) -> Floats:
        """Force against the motion at a speed or at each of an array of them [N]."""
        through_air = v_m_s + self.head_wind_m_s
        climbing = self.mass_kg * G_M_S2 * math.sin(math.atan(self.grade))
        held = self.f0_n + self.f1_n_s_m * v_m_s + self.f2_n_s2_m2 * through_air * abs(through_air)
        return held + climbing

    def driven(self, grade: float = 0.0, head_wind_m_s: float = 0.0) -> "RoadLoad":
        """The same vehicle on another slope, in another wind."""
        return replace(self, grade=grade, head_wind_m_s=head_wind_m_s)


def road_load(mass_kg: float, rolling_resistance: float, drag_area_m2: float, density_kg_m3: float) -> RoadLoad:
    """From a share of the weight, and drag coefficient times frontal area: F0 = m g c, F2 = rho/2 Ad.

    mass_kg : with rider; rolling_resistance : 0.002 to 0.2; drag_area_m2 : 0.02 to 3; density of the air [kg/m³].
    Source: newton.

    >>> round(road_load(150.0, 0.02, 0.6, 1.225).force_n(20.0), 1)
    176.4
    """
    return RoadLoad(mass_kg * G_M_S2 * rolling_resistance, 0.0, 0.5 * density_kg_m3 * drag_area_m2, mass_kg)
