"""Engines side by side: each as it is alone, whoever is beside it, and a sick one harms no other."""

import threading
import time
from collections.abc import Generator
from dataclasses import replace

import numpy as np
import pytest

from scribeline.cycle import turning as tn
from scribeline.cycle.batches import batch, curves
from scribeline.cycle.engine import Chamber, Section
from scribeline.cycle.lanes import Job, Jobs, Lanes, turn_curves
from scribeline.cycle.simulate import CycleResult, Running, Settings, run
from scribeline.errors import CycleError
from scribeline.kernels.network import FINE
from tests.cycle.invented import engine

COARSE = Settings(cell_m=0.02, flush=1.0, tolerance=0.02, patient=False)


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


@pytest.mark.usefixtures("in_doubles")
@pytest.mark.parametrize("reed", [False, True])
def test_side_by_side_as_alone(reed: bool) -> None:
    """Ten engines in eight lanes for three revolutions against the other time loop: gas, flows and totals alike.

    In doubles, in which two ways of writing the same can be told from rounding.
    """
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


@pytest.mark.parametrize("reed", [False, True])
def test_single_precision_is_near_enough(reed: bool) -> None:
    """As above, with the gas in cells in single precision, 6e-8 of a number: every row may be off by 1e-5 of its
    largest, and with a reed, whose bounces make more of it, by 5e-5 (judgement: twice and more what was seen)."""
    abreast = turned([Running(e, n, COARSE) for e, n in everything(reed)], 3)
    for one, (some, speed) in zip(abreast, everything(reed), strict=True):
        alone = Running(some, speed, COARSE)
        for _ in range(3):
            alone.turn()
        seen = alone.trace[0] > 0.0
        gas, other_gas = one.tables.network.q, alone.tables.network.q
        for a, b in (
            (gas, other_gas), (one.flows, alone.flows), (one.trace[:, seen], alone.trace[:, seen])
        ):  # fmt: skip
            assert (np.abs(a - b).max(axis=1) <= (5e-5 if reed else 1e-5) * np.abs(b).max(axis=1)).all()
        assert one.totals[tn.TOTALS] == pytest.approx(alone.totals[tn.TOTALS], rel=3e-6)


def test_whoever_waits_a_while_for_a_job_comes_back_however_busy_the_interpreter_is() -> None:
    """Two threads wait for two milliseconds again and again, two others keep the interpreter; a job comes at times."""
    jobs, ended, came_back = Jobs(), threading.Event(), [0, 0]

    def wait(number: int) -> None:
        while not ended.is_set():
            jobs.take(0.002)
            came_back[number] += 1

    def busy(_: int) -> None:
        while not ended.is_set():
            sum(range(20000))

    for work in (wait, busy):
        for number in range(2):
            threading.Thread(target=work, args=(number,), daemon=True).start()
    try:
        for _ in range(20):
            jobs.queue.put(Job(iter(())))  # type: ignore[arg-type]
            time.sleep(0.02)
            before, until = [*came_back], time.monotonic() + 20.0
            while not all(now > then for now, then in zip(came_back, before, strict=True)):
                assert time.monotonic() < until, "somebody waits for ever"
                time.sleep(0.005)
    finally:
        ended.set()
        for _ in range(2):
            jobs.queue.put(Job(iter(())))  # type: ignore[arg-type]


def test_a_curve_that_fails_in_one_thread_does_not_hang_the_others() -> None:
    """The first thread is through at once and would wait for what the second may leave over."""

    def through() -> Generator[Running, None, None]:
        yield from ()

    def fails() -> Generator[Running, None, None]:
        yield from ()
        time.sleep(0.1)
        raise ValueError("no engine is like this")

    ended = threading.Event()

    def curve() -> None:
        with pytest.raises(ValueError, match="no engine is like this"):
            turn_curves([through(), fails()], lambda: False)
        ended.set()

    threading.Thread(target=curve, daemon=True).start()
    assert ended.wait(20.0)


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


@pytest.mark.usefixtures("in_doubles")
def test_each_speed_starts_from_its_neighbour() -> None:
    one, other = Running(engine(), 8000.0, COARSE), Running(engine(), 9000.0, COARSE)
    run(one)
    expected = run(other, one)
    found = batch([engine()], [8000.0, 9000.0], COARSE)[0][1]
    assert isinstance(found, CycleResult)
    assert found.cycles == expected.cycles
    assert found.imep_pa == pytest.approx(expected.imep_pa, rel=1e-9)


def test_begun_from_a_like_engine() -> None:
    """Every speed by itself: what the curve comes to, whoever is beside it, with another pipe and without a start."""
    speeds = [8000.0, 8500.0, 9000.0]
    fine = replace(COARSE, tolerance=0.002, least_cycles=16, patient=True)
    held: list[Running | None] = []
    (row,) = curves([lambda _: engine()], speeds, fine, side_by_side=False, held=held)
    others = [engine(exhaust_deg=178.0, pipe_factor=1.0 + 0.03 * i) for i in range(5)]
    at = [lambda _, one=one: one for one in others]
    first = list(curves(at, speeds, fine, threads=1, begun=held))
    (again,) = curves(at[2:3], speeds, fine, threads=2, begun=held)
    by_neighbours = batch(others, speeds, fine)
    for i, some in enumerate(first):
        for one, other in zip(some, by_neighbours[i], strict=True):
            assert isinstance(one, CycleResult)
            assert isinstance(other, CycleResult)
            assert one.imep_pa == pytest.approx(other.imep_pa, rel=0.005)
    for one, other in zip(first[2], again, strict=True):
        assert isinstance(one, CycleResult)
        assert isinstance(other, CycleResult)
        assert (one.imep_pa, one.cycles) == (other.imep_pa, other.cycles)
    (same,) = curves([lambda _: engine()], speeds, fine, begun=held)
    for one, other in zip(same, row, strict=True):
        assert isinstance(one, CycleResult)
        assert isinstance(other, CycleResult)
        assert one.cycles == fine.least_cycles  # it stood there already
        assert one.imep_pa == pytest.approx(other.imep_pa, rel=0.002)
    (cold,) = curves([lambda _: engine()], speeds[:1], fine, begun=[None])
    assert isinstance(cold[0], CycleResult)
    assert cold[0].cycles > fine.least_cycles


def test_gas_is_taken_over_by_an_engine_with_other_cells() -> None:
    one, other = Running(engine(), 9000.0, COARSE), Running(engine(pipe_factor=1.1), 9000.0, COARSE)
    run(one)
    cold_k = other.pipe_temperature_k()
    other.start_like(one)
    assert other.pipe_temperature_k() == pytest.approx(one.pipe_temperature_k(), rel=0.02)
    assert abs(cold_k / one.pipe_temperature_k() - 1.0) > 0.05
    boxed = Running(replace(engine(), airbox=Chamber(2e-3, [Section(0.08, 0.03, 0.03)])), 9000.0, COARSE)
    before = boxed.tables.network.q.copy()
    boxed.start_like(one)  # another number of ducts
    assert np.array_equal(boxed.tables.network.q, before)


def test_one_after_the_other_is_as_side_by_side() -> None:
    engines = [engine(), replace(engine(), afr=5.0), engine(exhaust_deg=178.0)]
    at = [lambda _, one=one: one for one in engines]
    alone = list(curves(at, [8000.0, 9000.0], COARSE, side_by_side=False))
    for one, other in zip(alone, batch(engines, [8000.0, 9000.0], COARSE), strict=True):
        for a, b in zip(one, other, strict=True):
            if isinstance(a, CycleResult):
                assert isinstance(b, CycleResult)
                assert a.imep_pa == pytest.approx(b.imep_pa, rel=1e-6)
            else:
                assert str(a) == str(b)


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
