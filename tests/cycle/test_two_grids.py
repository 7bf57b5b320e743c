"""Long cells with the defect of the fine ones: they rest where the fine ones do, and lead there from elsewhere."""

from collections.abc import Generator
from functools import partial
from typing import Any

import numpy as np
import pytest

from scribeline.cycle.simulate import Running, Settings, settle, settled_ahead
from scribeline.cycle.two_grids import Ahead, Between, add, cells_of, gas_of
from tests.cycle.invented import engine

FINE, LONG = Settings(cell_m=0.015), Settings(cell_m=0.03, flush=1.0)
SETTLED = partial(settled_ahead, tolerance=FINE.tolerance)


def flushed(turns: int) -> tuple[Running, Running]:
    """An engine that has turned so often with fine cells after twenty revolutions with long ones; and the latter."""
    fine, longer = Running(engine(), 8500.0, FINE), Running(engine(), 8500.0, LONG)
    for _ in range(20):
        longer.turn()
    fine.start_like(longer)
    for _ in range(turns):
        fine.turn()
    return fine, longer


def go_ahead(fine: Running, longer: Running) -> tuple[int, float]:
    """Once with fine cells, then ahead with long ones: their revolutions, and how far that came."""
    ahead = Ahead(fine, longer)
    ahead.begin()
    fine.turn()
    return ended(ahead.turn(SETTLED)), ahead.moved


def ended(work: Generator[Running, None, Any]) -> Any:
    """What a task returns once all that it asked for is turned."""
    try:
        while True:
            next(work).turn()
    except StopIteration as end:
        return end.value


def test_straight_lines_stay_straight():
    """A straight line along each duct comes out as it went in, but for half a cell at the ends; none is left out."""
    fine, longer = Running(engine(), 8500.0, FINE), Running(engine(), 8500.0, LONG)

    def along(one: Running):
        return [np.arange(0.5, s.stop - s.start) / (s.stop - s.start) for s in one.tables.network.spans]

    for source, target in ((fine, longer), (longer, fine)):
        line = [7.0 * i + x for i, x in enumerate(along(source))]
        got = Between(source, target)(np.tile(np.concatenate(line), (4, 1)))
        for i, (x, here) in enumerate(zip(along(target), line, strict=True)):
            mine, got = got[:, : x.size], got[:, x.size :]
            assert mine == pytest.approx(np.tile(np.clip(7.0 * i + x, here[0], here[-1]), (4, 1)), abs=1e-12)
        assert got.size == 0


def test_long_cells_rest_where_the_fine_ones_do():
    """By themselves they settle to other work; with the defect they stay, and so does the fine gas."""
    fine, longer = flushed(150)
    before, by_themselves = fine.monitored(), longer.monitored()
    assert abs(by_themselves[0] / before[0] - 1.0) > 0.002  # the test can fail
    turned, moved = go_ahead(fine, longer)
    assert turned == 16
    assert moved < 1e-4
    for _ in range(2):
        fine.turn()
        assert fine.monitored() == pytest.approx(before, rel=2e-4)


def test_long_cells_lead_to_where_the_fine_ones_rest():
    """After three revolutions with fine cells; against those by themselves for 150."""
    limit = flushed(150)[0].monitored()
    fine, longer = flushed(2)
    turned, _ = go_ahead(fine, longer)
    assert turned >= 16
    for _ in range(2):
        fine.turn()
    plain = flushed(5)[0]
    assert np.abs(plain.monitored() / limit - 1.0).max() > 2e-3  # the test can fail
    assert np.abs(fine.monitored() / limit - 1.0).max() < 1e-3


def test_a_correction_that_takes_most_of_a_cell_is_none():
    """Density, heat and a volume's mass, each to less than half: the gas stays as it is."""
    one = Running(engine(), 8500.0, LONG)
    here = cells_of(one)
    cells, volumes = gas_of(one, here)
    for row, of_volumes in ((0, False), (2, False), (0, True)):
        more = np.zeros_like(cells), np.zeros_like(volumes)
        more[of_volumes][row, 3 if not of_volumes else 2] = -0.6 * (volumes[0, 2] if of_volumes else cells[row, 3])
        assert not add(one, here, more)
        assert (gas_of(one, here)[0] == cells).all()
        assert (gas_of(one, here)[1] == volumes).all()
    assert add(one, here, (0.1 * cells, 0.1 * volumes))
    assert gas_of(one, here)[0] == pytest.approx(1.1 * cells)


@pytest.mark.parametrize("period", [1, 2, 3, 5, 8])
def test_an_engine_that_repeats_itself_every_so_often_is_averaged_over_that(period):
    """Work that is another in each revolution of a period; one revolution is off by a tenth, which no mean of fewer
    hides. Patient or not, the mean is of a whole period and comes long before 100 revolutions."""

    class Repeating(Running):
        turned = 0

        def __init__(self, settings):
            self.settings, self.speed_rpm, self.coarse = settings, 9000.0, None

        def turn(self):
            self.turned += 1

        def monitored(self):
            return np.array([1.0 + 0.1 * (self.turned % period == 0), 1.0, 1.0, 1.0])

        def renewal(self):
            return 10.0

        def mass_imbalance(self, revolutions=1):
            return 0.0 if revolutions % period == 0 else 0.05

        def result(self, history, distance, averaged):
            return len(history), averaged

    for patient in (True, False):
        turned, averaged = ended(settle(Repeating(Settings(patient=patient)), flushed=True))
        assert averaged % period == 0
        assert averaged <= 2 * period
        assert turned <= 5 * period + 18
