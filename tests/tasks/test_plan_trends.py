"""The simulated trends of tests/validation, for operations: each makes the very engine whose band was seen to move.

So that no engine is simulated twice: tests/reference/11, e2e-trends (common practice; tuning law).
"""

import pytest

from scribeline.cycle.from_record import build_of
from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import work_out
from scribeline.plan.carry_out import carry_out
from scribeline.plan.phrases import read_step
from scribeline.tasks.curve import power_curve
from tests.examples import edited
from tests.validation.test_trends_of_a_record import ROUGH, with_pipe, with_roof


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


# --- every direction of e2e-trends that an operation can bring about ------------------------------------------------
# A hotter pipe and thinner air are no operations: tests/validation holds them.


def closing_m3(record: EngineRecord) -> float:
    engine = build_of(work_out(record, draws=0)).engine
    return float(engine.cylinder.volume_m3(-engine.exhaust_opens_rad))


def test_raising_the_exhaust_traps_a_smaller_volume() -> None:
    assert closing_m3(after("raise exhaust roof at exhaust: 1.5 mm")) < closing_m3(edited())


def test_a_longer_pipe_is_the_pipe_that_moves_the_band_down() -> None:
    """The tuning law by its other sign: each section longer by a tenth is the pipe of factor 1.1."""
    lengths = {"header": 240, "diffuser": 255, "belly": 110, "baffle": 195, "stinger": 240}
    long = after(*(f"change pipe length at {name}: {0.1 * mm} mm" for name, mm in lengths.items()))
    pipes = [build_of(work_out(record, draws=0)).engine.exhaust for record in (long, with_pipe(1.1))]
    assert [s.length_m for s in pipes[0]] == pytest.approx([s.length_m for s in pipes[1]])


def test_more_blowdown_comes_of_raising_the_exhaust_and_of_no_transfer() -> None:
    """Its time-area: what lowers the pressure at which the transfers open, which tests/validation sees simulated."""
    name = "blowdown_time_area_s_mm2"
    was, raised, transfers = (
        work_out(one, draws=0).value(name)
        for one in (
            edited(),
            after("raise exhaust roof at exhaust: 1.5 mm"),
            after("raise transfer roof at all transfers: 0.5 mm"),
        )
    )
    assert was is not None
    assert raised is not None
    assert transfers is not None
    assert transfers < was < raised


@pytest.mark.parametrize("step", ["deck barrel top: 0.5 mm", "face head: 0.5 mm"])
def test_a_higher_trapped_ratio_raises_the_indicated_pressure_and_the_octane_it_needs(step: str) -> None:
    """Until knock: more work from the same charge, and less margin before the fuel knocks."""
    (plain,), (squeezed,) = (power_curve(one, [9000.0], ROUGH, threads=1).points for one in (edited(), after(step)))
    ratios = [work_out(one, draws=0).value("compression_ratio_trapped") for one in (edited(), after(step))]
    assert ratios[0] is not None
    assert ratios[1] is not None
    assert ratios[1] > ratios[0]
    assert squeezed.got.imep_pa / squeezed.got.trapped_kg > plain.got.imep_pa / plain.got.trapped_kg
    assert squeezed.got.octane_needed > plain.got.octane_needed
