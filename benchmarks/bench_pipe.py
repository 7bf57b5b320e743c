"""How long a pipe takes: the first shape, the search by simulation, the sheets to make it by.

    .venv/bin/pytest benchmarks/bench_pipe.py --benchmark-only

Timed in processor time of this process, compiled code warm. The search is timed once: it takes tens of seconds.
"""

import time
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.cycle.simulate import CycleResult
from scribeline.engine import EngineRecord, read_record_file
from scribeline.geometry.pipe_design import sections_of
from scribeline.marking.paper import PAPERS
from scribeline.marking.sheet import Issue
from scribeline.tasks.pipe import Wanted, design_pipe, read_pipe
from scribeline.tasks.pipe_sheets import PipeMaking, pipe_sheets
from scribeline.tasks.sheet_wishes import Wishes
from scribeline.tasks.sheets import files_of

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
ISSUE = Issue("benchmark", "0", "2026-11-25")
pytestmark = pytest.mark.benchmark(timer=time.process_time)


@pytest.fixture(scope="module", params=["club-kart-98", "reed-125"])
def record(request: pytest.FixtureRequest) -> EngineRecord:
    return read_record_file(EXAMPLES / f"{request.param}.toml")


def test_first_shape(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    benchmark(design_pipe, record, Wanted(9000.0, first_only=True))


def test_flat_patterns_and_nesting(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    made = benchmark(pipe_sheets, sections_of(record), PipeMaking(), PAPERS["A4"])
    assert len(made.pieces) > 10


def test_writing_the_book_as_pdf_and_dxf(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    sheets = pipe_sheets(sections_of(record), PipeMaking(), PAPERS["A4"]).sheets
    wishes = Wishes(formats=("pdf", "dxf"))
    benchmark(lambda: dict(files_of(sheets, ISSUE, PAPERS["A4"], wishes)))


def test_reading_the_fitted_pipe(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    """22 speeds at the usual fineness."""
    read_pipe(record)  # compiles
    report = benchmark.pedantic(read_pipe, (record,), rounds=2)
    assert any(isinstance(one, CycleResult) for one in report.chosen.results)


def test_designing_a_pipe(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    report = benchmark.pedantic(design_pipe, (record, Wanted(9000.0)), rounds=1)
    assert report.search is not None
    found, rules = (report.candidates[i].power_w for i in (-1, -2))
    assert found is not None
    assert rules is not None
    print(f"{report.record.name}: {len(report.search.tried)} pipes in {report.search.rounds} rounds, "
          f"{rules / 1e3:.2f} to {found / 1e3:.2f} kW")  # fmt: skip
