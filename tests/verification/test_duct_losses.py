"""What stands in a duct's way: a throttle, a bend, a sudden change of section, against handbook losses of slow flow."""

import math

import numpy as np
import pytest

from scribeline.cycle.engine import STEP, Knobs, Section, duct_of
from scribeline.cycle.layout import End, Volume, lay_out
from scribeline.kernels.gas import perfect_gas
from scribeline.models import duct_walls

AIR = perfect_gas(1.4, 287.05)
P0, T0 = 101325.0, 300.0
RHO = P0 / (287.05 * T0)
SMOOTH = Knobs(fanning=0.0, analogy=0.0)


def speed_m_s(sections: list[Section], drop_pa: float, **opening: float) -> float:
    """Steady speed in the first section between two rooms whose pressures differ by drop_pa; bell-mouthed inlet."""
    duct = duct_of(sections, 0.01, End(0), End(1), SMOOTH, open_end=False, **opening)
    net = lay_out(AIR, [duct], [Volume(P0, T0), Volume(P0 - drop_pa, T0)], P0 - drop_pa, T0)
    net.march(0.6)
    here = net.spans[0]
    return float(net.q[1, here][3] / RHO)


@pytest.mark.parametrize("share", [0.2, 0.4, 0.7])
def test_a_throttle_loses_what_a_sudden_widening_does(share: float) -> None:
    """Borda and Carnot: the jet through the opening mixes out, p0 - p1 = rho u^2/2 (1 + (1/share - 1)^2)."""
    area = math.pi / 4 * 0.03**2
    u = speed_m_s([Section(0.2, 0.03, 0.03)], 500.0, opening_m2=share * area)
    assert u == pytest.approx(math.sqrt(2 * 500.0 / RHO / (1 + (1 / share - 1) ** 2)), rel=0.03)


def test_a_bend_loses_its_coefficient() -> None:
    """Weisbach's quarter bend with a middle line of one bore: K = 0.294; four of them in a row."""
    k = 4 * duct_walls.bend_loss(90.0, 0.04, 0.04)
    assert k == pytest.approx(4 * (0.131 + 1.847 * 0.5**3.5), rel=1e-12)
    u = speed_m_s([Section(0.4, 0.04, 0.04, bend_loss=k)], 500.0)
    assert u == pytest.approx(math.sqrt(2 * 500.0 / RHO / (1 + k)), rel=0.02)


def test_a_sudden_widening_loses_more_than_a_cone() -> None:
    """From 30 to 60 mm at once: Borda and Carnot with the outlet's own speed lost, (1 - r)^2 + r^2 of the small
    section's head; through a slender cone only r^2 is lost."""
    r = 0.25
    sudden = speed_m_s([Section(0.1, 0.03, 0.03), Section(0.2, 0.06, 0.06)], 300.0)
    cone = speed_m_s([Section(0.1, 0.03, 0.03), Section(0.2, 0.03, 0.06)], 300.0)
    assert sudden == pytest.approx(math.sqrt(2 * 300.0 / RHO / ((1 - r) ** 2 + r**2)), rel=0.06)
    assert cone > 1.3 * sudden


def test_a_joint_becomes_a_step_where_it_is_one() -> None:
    joints = [Section(0.1, 0.03, 0.03), Section(0.1, 0.031, 0.031), Section(0.1, 0.06, 0.06), Section(0.1, 0.02, 0.02)]
    duct = duct_of(joints, 0.01, End(0), End(1), SMOOTH, open_end=False)
    assert math.log(0.031 / 0.03) < STEP
    assert sorted(duct.steps) == [20, 30]
    assert duct.steps[20] == pytest.approx((math.pi / 4 * 0.031**2, math.pi / 4 * 0.06**2))
    assert duct.face_areas_m2[30] == pytest.approx(math.pi / 4 * 0.02**2)
    assert np.all(duct.face_areas_m2 > 0.0)
