"""The search, on an engine whose best pipe is known; and a curve read for what a pipe is tuned for."""

import doctest
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from scribeline.cycle.simulate import CycleResult
from scribeline.errors import CycleError
from scribeline.geometry.pipe_design import Mounting, PipeLimits, PipeShape, first_shape, refused
from scribeline.plan import pipe_search
from scribeline.plan.pipe_search import Goal, mean_power_w, refine, stepped, tuned_for

AT = Mounting(175.0, 45.0, True, 34.0)
LIMITS = PipeLimits(stinger_mm=(21.08, 21.08))
START = first_shape(AT, 9000.0, LIMITS)
GOAL = Goal("band", 9000.0)
BEST = {"tuned_length_mm": 760.0, "header_length_mm": 190.0, "belly_mm": 88.0, "diffuser_taper_deg": 8.6,
        "baffle_taper_deg": 16.0}  # fmt: skip
SCALES = {"tuned_length_mm": 100.0, "header_length_mm": 100.0, "belly_mm": 30.0, "diffuser_taper_deg": 4.0,
          "baffle_taper_deg": 10.0}  # fmt: skip


def result(speed_rpm: float, power_w: float, trapping: float = 0.6) -> CycleResult:
    given = {one.name: 0.0 for one in fields(CycleResult)}
    return CycleResult(**given | {"speed_rpm": speed_rpm, "power_w": power_w, "trapping_efficiency": trapping,
                                  "pipe_k": 800.0})  # type: ignore[arg-type]  # fmt: skip


def power_w(shape: PipeShape) -> float:
    """10 kW at one shape, and less by the square of the distance from it."""
    away = sum(((getattr(shape, name) - value) / SCALES[name]) ** 2 for name, value in BEST.items())
    return 10000.0 * (1.0 - 0.5 * away)


@pytest.fixture
def known(monkeypatch: pytest.MonkeyPatch) -> list[list[PipeShape]]:
    """In place of the simulation: the power above, at every speed. Gives the batches that were asked for."""
    asked: list[list[PipeShape]] = []

    def batch(shapes: Sequence[PipeShape], speeds: Sequence[float], *rest: Any) -> list[list[CycleResult]]:
        asked.append(list(shapes))
        progress: Callable[[int, int], bool | None] | None = rest[2]
        for i in range(len(shapes)):
            if progress is not None and progress(i + 1, len(shapes)):
                raise CycleError("stopped")
        return [[result(speed, power_w(shape)) for speed in speeds] for shape in shapes]

    monkeypatch.setattr(pipe_search, "batch", batch)
    return asked


def as_engine(shape: PipeShape) -> Any:
    return shape


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(pipe_search).failed == 0


def test_the_search_comes_near_the_known_best(known: list[list[PipeShape]]) -> None:
    search = refine(as_engine, START, LIMITS, GOAL)
    best = search.best[0]
    assert power_w(START) < 9000.0
    assert best.power_w > 9950.0
    assert best.shape.tuned_length_mm == pytest.approx(BEST["tuned_length_mm"], rel=0.02)
    assert not search.stopped
    assert search.rounds <= pipe_search.MOST_ROUNDS


def test_the_same_search_twice_gives_the_same(known: list[list[PipeShape]]) -> None:
    one, two = (refine(as_engine, START, LIMITS, GOAL) for _ in range(2))
    assert [each.shape for each in one.tried] == [each.shape for each in two.tried]


def test_no_shape_is_simulated_twice_or_outside_the_limits(known: list[list[PipeShape]]) -> None:
    limits = PipeLimits(longest_mm=1150.0, widest_mm=92.0, stinger_mm=(20.0, 23.0))
    refine(as_engine, first_shape(AT, 9000.0, limits), limits, GOAL)
    every = [shape for batch in known for shape in batch]
    assert len(set(every)) == len(every)
    assert not [refused(shape, limits) for shape in every if refused(shape, limits)]
    assert len({shape.stinger_mm for shape in every}) > 1


def test_the_stinger_stays_where_no_room_was_given_for_it(known: list[list[PipeShape]]) -> None:
    search = refine(as_engine, START, LIMITS, GOAL)
    assert {one.shape.stinger_mm for one in search.tried} == {START.stinger_mm}


@pytest.mark.parametrize("how", ["Ctrl-C", "asked"])
def test_a_stopped_search_keeps_the_best_so_far(known: list[list[PipeShape]], how: str) -> None:
    seen = 0

    def progress(done: int, most: int) -> bool:
        nonlocal seen
        assert 0 < done <= most
        seen = max(seen, done)
        if done == 20 and how == "Ctrl-C":
            raise KeyboardInterrupt
        return done == 20 and how == "asked"

    search = refine(as_engine, START, LIMITS, GOAL, progress=progress)
    assert search.stopped
    assert seen == 20
    assert search.best[0].power_w >= power_w(START)
    assert search.best[0].power_w == max(power_w(one.shape) for one in search.tried)


def test_an_engine_that_runs_nowhere_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        pipe_search, "batch", lambda shapes, speeds, *_: [[CycleError("no")] * len(speeds)] * len(shapes)
    )
    with pytest.raises(CycleError, match="at none of 5 speeds around 9000 rpm"):
        refine(as_engine, START, LIMITS, GOAL)


def test_a_speed_without_a_sound_end_counts_as_nothing() -> None:
    assert mean_power_w([result(8000.0, 9000.0), CycleError("no"), result(9000.0, 12000.0)]) == 7000.0


def test_a_longer_pipe_keeps_the_headers_share() -> None:
    longer = stepped(START, "tuned_length_mm", 1.0, LIMITS)
    assert longer.tuned_length_mm / START.tuned_length_mm == pytest.approx(1.05)
    before = (START.passage_mm + START.header_length_mm) / START.tuned_length_mm
    assert (longer.passage_mm + longer.header_length_mm) / longer.tuned_length_mm == pytest.approx(before)
    assert stepped(START, "baffle_taper_deg", 99.0, LIMITS).baffle_taper_deg == LIMITS.baffle_deg[1]
    assert stepped(replace(START, belly_mm=80.0), "belly_mm", -1.0, LIMITS).belly_mm == pytest.approx(80.0 * 0.92)


# --- what a curve is tuned for -------------------------------------------------------------------------------------


def test_the_band_of_a_curve_of_straight_lines() -> None:
    """Up 2 W per rpm to 10 kW at 9000, down 5 W per rpm: 90 % at 8500 and at 9200."""
    speeds = np.arange(7000.0, 10001.0, 250.0)
    powers = np.where(speeds <= 9000.0, 10000.0 - 2.0 * (9000.0 - speeds), 10000.0 - 5.0 * (speeds - 9000.0))
    trapping = {8500.0: 0.61, 8750.0: 0.68, 9000.0: 0.66, 7000.0: 0.9}
    row = [result(v, p, trapping.get(v, 0.5)) for v, p in zip(speeds.tolist(), powers.tolist(), strict=True)]
    tuned = tuned_for(row)
    assert tuned is not None
    assert (tuned.low_rpm, tuned.high_rpm, tuned.centre_rpm) == pytest.approx((8500.0, 9200.0, 8850.0))
    assert (tuned.best_rpm, tuned.best_w, tuned.trapping_rpm) == (9000.0, 10000.0, 8750.0)
    assert not tuned.open_ended
    assert tuned.pipe_k == 800.0


def test_a_second_hump_is_not_part_of_the_band() -> None:
    powers = [6000.0, 9800.0, 7000.0, 9900.0, 10000.0, 8000.0]
    tuned = tuned_for([result(7000.0 + 500.0 * i, p) for i, p in enumerate(powers)])
    assert tuned is not None
    assert 8000.0 < tuned.low_rpm < 8500.0


def test_a_band_that_goes_on_is_said_to() -> None:
    tuned = tuned_for([result(7000.0 + 500.0 * i, 5000.0 + 1000.0 * i) for i in range(5)])
    assert tuned is not None
    assert tuned.open_ended
    assert tuned.high_rpm == 9000.0
    assert tuned_for([result(8000.0, 1.0), CycleError("no"), result(9000.0, 1.0)]) is None


def test_goals_lie_around_the_speed() -> None:
    assert Goal("band", 9000.0).words == "mean power from 8280 to 9720 rpm"
    wide, narrow = Goal("wide", 9000.0).speeds_rpm, GOAL.speeds_rpm
    assert wide[0] < narrow[0] < narrow[-1] < wide[-1]
