"""How long a photograph of 12 million pixels takes, from the file to described ports.

.venv/bin/pytest benchmarks/bench_rubbing.py --benchmark-only
"""

from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.tasks.rubbing import measure_rubbing
from scribeline.tasks.rubbing_report import overlay_png
from tests.examples import KART, path_of
from tests.rubbing.kart import rubbed
from tests.rubbing.rendering import Camera, photograph, save

CAMERA = Camera(4000, 3000, tilt=30, towards=35, turned=12, barrel=0.04, shadow=0.45, noise=0.03, blur_px=1.8)


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return save(photograph(rubbed(), CAMERA), tmp_path_factory.mktemp("photo") / "rubbing.jpg")


def test_twelve_million_pixels(benchmark: BenchmarkFixture, photo: Path) -> None:
    found = benchmark.pedantic(measure_rubbing, (photo, path_of(KART)), rounds=5, warmup_rounds=1)
    assert len(found.found) == 6


def test_its_overlay(benchmark: BenchmarkFixture, photo: Path) -> None:
    measured = measure_rubbing(photo, path_of(KART))
    assert benchmark.pedantic(overlay_png, (measured,), rounds=5, warmup_rounds=1)[1:4] == b"PNG"
