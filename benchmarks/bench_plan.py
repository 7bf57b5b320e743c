"""How long a what-if takes: from a plan to both engines worked out, and to the staged cut list.

.venv/bin/pytest benchmarks/bench_plan.py --benchmark-only
"""

import time
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.engine import read_record_file
from scribeline.geometry.work_out import work_out
from scribeline.plan.cut_list import cut_list
from scribeline.plan.phrases import read_step
from scribeline.plan.steps import Plan
from scribeline.plan.what_if import what_if

pytestmark = pytest.mark.benchmark(timer=time.process_time)  # as in bench_card: other work does not count

EXAMPLES = Path(__file__).parents[1] / "examples"
STEPS = {
    "club-kart-98": (
        "deck barrel top: 0.4 mm", "raise exhaust roof at exhaust: 1.2 mm", "widen exhaust at exhaust: 1 mm",
        "raise transfer roof at all transfers: 0.4 mm", "lower intake floor at intake: 0.8 mm",
        "trim skirt at intake side: 1 mm", "change pipe length at header: -20 mm",
    ),
    "reed-125": (
        "remove base gasket at fitted 2", "raise exhaust roof at exhaust: 0.5 mm", "widen exhaust at exhaust: 1 mm",
        "raise exhaust roof at side exhaust: 0.4 mm", "raise transfer roof at all transfers: 0.4 mm",
        "change pipe length at header: -10 mm", "change ignition advance: -1 deg",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", STEPS)
def test_what_if_by_geometry(benchmark: BenchmarkFixture, name: str) -> None:
    """Seven operations, both engines worked out without +/-, limits held, what moved listed."""
    record = read_record_file(EXAMPLES / f"{name}.toml")
    plan = Plan(tuple(map(read_step, STEPS[name])))
    assert benchmark(what_if, record, plan).moved


@pytest.mark.parametrize("name", STEPS)
def test_what_if_asked_again(benchmark: BenchmarkFixture, name: str) -> None:
    """The same where the engine as it is was worked out before: what follows a dragged port edge."""
    record = read_record_file(EXAMPLES / f"{name}.toml")
    plan = Plan(tuple(map(read_step, STEPS[name])))
    before = work_out(record, draws=0)
    assert benchmark(lambda: what_if(record, plan, before=before)).moved


@pytest.mark.parametrize("name", STEPS)
def test_the_cut_list(benchmark: BenchmarkFixture, name: str) -> None:
    """The staged list of seven operations, each number to expect with its +/-."""
    done = what_if(read_record_file(EXAMPLES / f"{name}.toml"), Plan(tuple(map(read_step, STEPS[name]))))
    assert len(benchmark(cut_list, done).steps) == 7
