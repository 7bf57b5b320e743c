"""All sheets of one engine, in every format, and the build card as a picture. The aim is 3 s for all sheets.

    .venv/bin/pytest benchmarks/bench_sheets.py --benchmark-only

Timed in processor time of this process, which a busy machine disturbs less than the clock on the wall.
"""

import time
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.tasks.build_card import write_build_card
from scribeline.tasks.sheet_wishes import Format, Wishes
from scribeline.tasks.sheets import write_sheets

EXAMPLES = Path(__file__).parents[1] / "examples"
pytestmark = pytest.mark.benchmark(timer=time.process_time)
KART, PLAN = EXAMPLES / "club-kart-98.toml", EXAMPLES / "club-kart-98-plan.toml"


@pytest.mark.parametrize("formats", [("pdf",), ("svg",), ("dxf",), ("pdf", "svg", "dxf")], ids="+".join)
def test_all_sheets_of_one_engine_with_a_plan(
    benchmark: BenchmarkFixture, tmp_path: Path, formats: tuple[Format, ...]
) -> None:
    written = benchmark.pedantic(
        lambda: write_sheets(KART, tmp_path, Wishes(formats=formats), plan=PLAN), rounds=5, warmup_rounds=1
    )
    assert len(written.files) >= 6


def test_the_build_card_as_png(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    benchmark.pedantic(lambda: write_build_card(KART, tmp_path / "card.png", plan=PLAN), rounds=5, warmup_rounds=1)
