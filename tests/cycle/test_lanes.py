"""Engines side by side: each as it is alone, whoever is beside it, and a sick one harms no other."""

from dataclasses import replace

import numpy as np
import pytest

from scribeline.cycle import turning as tn
from scribeline.cycle.batches import batch, curves
from scribeline.cycle.engine import Chamber, Section
from scribeline.cycle.lanes import Lanes
from scribeline.cycle.simulate import CycleResult, Running, Settings, run
from scribeline.errors import CycleError
from scribeline.kernels.network import FINE
from tests.cycle.invented import engine

COARSE = Settings(cell_m=0.02, flush=1.0, tolerance=0.02)


def turned(some: list[Running], revolutions: int) -> list[Running]:
    """Turned side by side, each as often."""
    lanes = Lanes(some[0])
    left = dict.fromkeys(map(id, some), revolutions)
    for one in some:
        lanes.waiting.append((None, one))
    while lanes.engines:
        for _, one, status in lanes.turn():
            one.turned(status)
            left[id(one)] -= 1
            if left[id(one)]:
                lanes.waiting.append((None, one))
    return some


def everything(reed: bool):
    """Engines that differ in speed, ports, pipe (and so in cells), with all that an engine may have."""
    gap = np.roll(engine().exhaust_area_m2, 360)[::-1] * 0.1
    box, can = Chamber(2e-3, [Section(0.08, 0.03, 0.03)]), Chamber(1e-3, [Section(0.10, 0.02, 0.02)])
    return [
        (
            replace(
                engine(exhaust_deg=170.0 + 2 * i, pipe_factor=1 + 0.03 * i, reed=reed), airbox=box, silencer=can,
                blow_by_m2=3e-7 * (i % 2), exhaust_under_skirt_m2=gap,
            ),
            6000.0 + 500.0 * i,
        )
        for i in range(10)
    ]  # fmt: skip


@pytest.mark.parametrize("reed", [False, True])
def test_side_by_side_as_alone(reed: bool) -> None:
    """Ten engines in eight lanes for three revolutions against the other time loop: gas, flows and totals alike."""
    abreast = turned([Running(e, n, COARSE) for e, n in everything(reed)], 3)
    for one, (some, speed) in zip(abreast, everything(reed), strict=True):
        alone = Running(some, speed, COARSE)
        for _ in range(3):
            alone.turn()
        for a, b in ((one.tables.network.q, alone.tables.network.q), (one.flows, alone.flows)):
            assert np.abs(a - b).max() < 1e-8 * np.abs(b).max()
        assert one.totals[tn.TOTALS] == pytest.approx(alone.totals[tn.TOTALS], rel=1e-8)
        seen = alone.trace[0] > 0.0
        assert one.trace[:, seen] == pytest.approx(alone.trace[:, seen], rel=1e-6)


def test_a_row_does_not_depend_on_company_or_threads() -> None:
    """To the last bit: an engine by itself, and among others in one or two threads."""
    engines = [engine(exhaust_deg=168.0 + 2 * i) for i in range(10)]
    speeds = [8000.0, 9000.0]
    several = [batch(engines, speeds, COARSE, threads=n) for n in (1, 2)]
    alone = batch(engines[3:4], speeds, COARSE)[0]
    for rows in several:
        for a, b in zip(rows[3], alone, strict=True):
            assert isinstance(a, CycleResult)
            assert isinstance(b, CycleResult)
            assert (a.imep_pa, a.trapped_kg, a.cycles) == (b.imep_pa, b.trapped_kg, b.cycles)
            assert np.array_equal(a.trace, b.trace)


def test_each_speed_starts_from_its_neighbour() -> None:
    one, other = Running(engine(), 8000.0, COARSE), Running(engine(), 9000.0, COARSE)
    run(one)
    expected = run(other, one)
    found = batch([engine()], [8000.0, 9000.0], COARSE)[0][1]
    assert isinstance(found, CycleResult)
    assert found.cycles == expected.cycles
    assert found.imep_pa == pytest.approx(expected.imep_pa, rel=1e-9)


def test_one_that_leaves_physical_bounds_harms_no_other() -> None:
    some = [Running(e, n, COARSE) for e, n in everything(False)[:3]]
    lanes = Lanes(some[0])
    some[1].tables.network.q[0, 5] = -1.0  # a density below nothing
    for one in some:
        lanes.waiting.append((None, one))
    ended: dict[int, int] = {}
    while lanes.engines:
        for _, one, status in lanes.turn():
            ended[some.index(one)] = status
    assert ended[0] == ended[2] == FINE
    with pytest.raises(CycleError, match="physical bounds"):
        some[1].turned(ended[1])
    expected = turned([Running(*everything(False)[2], COARSE)], 1)[0]
    assert np.array_equal(some[2].totals[tn.TOTALS], expected.totals[tn.TOTALS])
    lanes.waiting.append((None, some[2]))  # and the lane serves again
    assert [status for _, _, status in lanes.turn()] == [FINE]


def test_an_engine_that_fails_is_its_error_and_stops_nobody() -> None:
    rows = batch([engine(), replace(engine(), afr=5.0)], [9000.0], replace(COARSE, most_cycles=30))
    assert isinstance(rows[0][0], CycleResult)
    assert isinstance(rows[1][0], CycleError)
    few = batch([engine()], [9000.0], replace(COARSE, most_cycles=3))[0][0]
    assert isinstance(few, CycleError)
    assert "after 3 revolutions" in str(few)


def test_left_early_nothing_further_is_begun() -> None:
    begun = []

    def at(speed: float):
        begun.append(speed)
        return engine()

    rows = curves([at] * 40, [9000.0], COARSE, threads=1)
    next(rows)
    rows.close()
    assert len(begun) < 40
