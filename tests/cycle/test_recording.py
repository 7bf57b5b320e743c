"""One revolution written down: it is the simulation's own, so its sums must be the simulation's totals."""

import math

import numpy as np
import pytest

from scribeline.cycle import turning as tn
from scribeline.cycle.recording import Recording, record
from scribeline.cycle.simulate import Running, Settings
from tests.cycle.invented import PIPE, engine

WHOLE = 2.0 * math.pi


@pytest.fixture(scope="module", params=[False, True], ids=["piston port", "reed"])
def written(request: pytest.FixtureRequest) -> tuple[Running, Recording]:
    running = Running(engine(reed=request.param), 9000.0, Settings(cell_m=0.02))
    for _ in range(6):
        running.turn()
    return running, record(running)


def test_flows_add_up_to_the_totals_of_the_revolution(written):
    running, rec = written
    time = rec.between(0.0, WHOLE)
    passed = running.flows[0]
    for passage, total in ((rec.exhaust, -passed[0]), (rec.transfers[0], passed[3]), (rec.intake, passed[-2])):
        assert (passage.flow_kg_s * time).sum() == pytest.approx(total, rel=2e-3), passage.name
        assert total > 0.0


def test_state_is_that_of_the_cylinder_and_the_pipe(written):
    running, rec = written
    t = running.totals
    assert rec.cylinder_pa.max() == pytest.approx(t[tn.PEAK_PA], rel=0.01)
    peak = rec.theta_rad[np.argmax(rec.cylinder_pa)]
    assert peak == pytest.approx(t[tn.PEAK_RAD], abs=math.radians(2.0))
    # work of both pistons, from the recorded pressures alone
    c, volume = running.engine.cylinder, np.array([running.engine.cylinder.volume_m3(a) for a in rec.theta_rad])
    swept = np.gradient(np.concatenate([volume[-1:], volume, volume[:1]]))[1:-1]
    work = ((rec.cylinder_pa - rec.case_pa) * swept).sum()
    assert work == pytest.approx(t[tn.WORK_J] + t[tn.CASE_WORK_J], rel=0.03)
    assert rec.pipe_x_m[0] < rec.pipe_x_m[-1] < sum(s.length_m for s in PIPE) + 0.01
    assert rec.pipe_bore_m.max() == pytest.approx(0.095, rel=1e-6)
    assert rec.pipe_pa[:, 0] == pytest.approx(rec.exhaust.p_pa)
    assert c.bore_m == 0.05


def test_the_burn_ends_what_is_fresh(written):
    _, rec = written
    assert rec.at(rec.cylinder_fresh, math.radians(80.0)) == pytest.approx(0.0, abs=0.02)
    assert rec.at(rec.cylinder_fresh, rec.closes_rad) > 0.5


def test_the_running_engine_keeps_its_own_trace(written):
    running, _ = written
    assert running.trace.shape == (tn.TRACES, 720)


def test_time_between_two_angles_adds_up_across_top_dead_centre(written):
    _, rec = written
    turn_s = 60.0 / 9000.0
    assert rec.between(0.0, WHOLE).sum() == pytest.approx(turn_s)
    assert rec.between(-0.5, 0.7).sum() == pytest.approx(1.2 / WHOLE * turn_s)
    assert rec.between(6.0, 6.6).sum() == pytest.approx(0.6 / WHOLE * turn_s)
    assert rec.at(np.cos(rec.theta_rad), 12.0) == pytest.approx(math.cos(12.0), abs=1e-4)
