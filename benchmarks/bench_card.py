"""How long the whole card takes, once the kernels are compiled: alone, with its draws, and as text, JSON and page.

    .venv/bin/pytest benchmarks/bench_card.py

Timed in processor time of this process, which a busy machine disturbs less than the clock on the wall. A limit that
is promised is asserted, on the median.
"""

import time
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.engine import EngineRecord, read_record_file
from scribeline.tasks.card import EngineCard, card_json, engine_card, explain
from scribeline.tasks.card_page import card_page
from scribeline.tasks.card_text import card_text

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
DRAWS = 4096
pytestmark = pytest.mark.benchmark(timer=time.process_time)


@pytest.fixture(scope="module", params=["club-kart-98", "reed-125"])
def path(request: pytest.FixtureRequest) -> Path:
    return EXAMPLES / f"{request.param}.toml"


@pytest.fixture(scope="module")
def record(path: Path) -> EngineRecord:
    return read_record_file(path)


@pytest.fixture(scope="module")
def card(record: EngineRecord) -> EngineCard:
    """Worked out once before anything is timed, which compiles what is not compiled yet."""
    return engine_card(record, draws=DRAWS)


def assert_median_below(benchmark: BenchmarkFixture, limit_s: float) -> None:
    assert benchmark.stats.stats.median < limit_s


@pytest.mark.usefixtures("card")
def test_card_without_plus_minus(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    """Promised: under 5 ms."""
    done = benchmark(engine_card, record, draws=0)
    assert done.out.draws == 0
    assert_median_below(benchmark, 0.005)


@pytest.mark.usefixtures("card")
def test_card_with_4096_draws(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    """Promised: under 400 ms."""
    done = benchmark(engine_card, record, draws=DRAWS)
    assert done.out.draws == DRAWS
    assert_median_below(benchmark, 0.400)


def test_reading_a_record(benchmark: BenchmarkFixture, path: Path) -> None:
    benchmark(read_record_file, path)


@pytest.mark.parametrize("write", [card_text, card_json, card_page], ids=lambda write: write.__name__)
def test_writing_a_card(benchmark: BenchmarkFixture, card: EngineCard, write: object) -> None:
    assert callable(write)
    assert benchmark(write, card)


def test_explaining_a_number(benchmark: BenchmarkFixture, record: EngineRecord) -> None:
    """The first of a card, which works out what makes the +/- of all of them."""
    fresh = engine_card(record, draws=0)

    def first() -> str:
        fresh.__dict__.pop("shares", None)
        return explain(fresh, "blowdown_time_area_s_mm2")

    assert benchmark(first)
