"""A curve's engines turn by themselves, then side by side, then by themselves: as if each were alone."""

import numpy as np
import pytest

from scribeline.cycle import lanes
from scribeline.cycle.along import power_curve
from scribeline.cycle.simulate import FOR_SEARCHES, Running, Settings, run
from scribeline.errors import CycleError
from tests.cycle.invented import engine

LONG_CELLS = Settings(cell_m=0.015, tolerance=0.02, patient=False)
SPEEDS_RPM = [8000.0 + 250.0 * i for i in range(7)]


@pytest.mark.usefixtures("in_doubles")
@pytest.mark.parametrize("settings", [LONG_CELLS, FOR_SEARCHES])
def test_a_curve_is_its_speeds_one_after_the_other(settings, monkeypatch):
    """Seven speeds in one thread against each by itself, started from its slower neighbour; flushed or not."""
    calls = []
    turn = lanes.Lanes.turn
    monkeypatch.setattr(lanes.Lanes, "turn", lambda self: calls.append(self.engines) or turn(self))
    found = power_curve(engine(), SPEEDS_RPM, settings, threads=1)
    before = None
    for speed, one in zip(SPEEDS_RPM, found, strict=True):
        alone = Running(engine(), speed, settings)
        expected = run(alone, before)
        before = alone
        assert (one.cycles, one.flushed, one.speed_rpm) == (expected.cycles, expected.flushed, speed)
        assert one.imep_pa == pytest.approx(expected.imep_pa, rel=1e-8)
        assert one.trace == pytest.approx(expected.trace, rel=1e-6)
    if settings is FOR_SEARCHES:
        assert not calls  # each speed waits for the gas of the one before
    else:
        assert calls[0] == len(SPEEDS_RPM)
        assert np.max(calls) <= len(SPEEDS_RPM)


def test_a_speed_that_fails_side_by_side_is_said():
    """Seven speeds in lanes that may not turn as often as they must; the first is named."""
    with pytest.raises(CycleError, match="8000 rpm: after 3 revolutions"):
        power_curve(engine(), SPEEDS_RPM, Settings(cell_m=0.015, most_cycles=3, patient=False), threads=1)
