"""The simulated trends of test_curve_trends, for operations: each makes the very engine whose band was seen to move.

So that no engine is simulated twice: tests/reference/11, e2e-trends (common practice; tuning law).
"""

import pytest

from scribeline.cycle.from_record import build_of
from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import work_out
from scribeline.plan.carry_out import carry_out
from scribeline.plan.phrases import read_step
from tests.examples import edited
from tests.tasks.test_curve_trends import with_pipe, with_roof


def after(*steps: str) -> EngineRecord:
    return carry_out(edited(), [read_step(step) for step in steps])


def test_a_pipe_cut_shorter_is_the_pipe_that_moves_the_band_up() -> None:
    lengths = {"header": 240, "diffuser": 255, "belly": 110, "baffle": 195, "stinger": 240}
    short = after(*(f"change pipe length at {name}: {-0.1 * mm} mm" for name, mm in lengths.items()))
    pipes = [build_of(work_out(record, draws=0)).engine.exhaust for record in (short, with_pipe(0.9))]
    assert [s.length_m for s in pipes[0]] == pytest.approx([s.length_m for s in pipes[1]])


def test_a_raised_roof_is_the_roof_that_moves_the_band_up() -> None:
    built = [
        build_of(work_out(record, draws=0)).engine
        for record in (after("raise exhaust roof at exhaust: 1.5 mm"), with_roof(27.6))
    ]
    assert built[0].exhaust_opens_rad == pytest.approx(built[1].exhaust_opens_rad)
    assert built[0].exhaust_area_m2 == pytest.approx(built[1].exhaust_area_m2)


def test_the_mixture_of_a_record_is_simulated() -> None:
    assert build_of(work_out(after("change mixture: 12.2"), draws=0)).engine.afr == 12.2
    assert build_of(work_out(edited(), draws=0)).engine.afr == 13.0
