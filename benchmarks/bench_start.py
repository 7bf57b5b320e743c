"""How long the command takes as a whole process, from its start to its end, with the kernels compiled before.

    .venv/bin/pytest benchmarks/bench_start.py

Timed twice: by the clock on the wall, and in processor time of the processes themselves, which a busy machine disturbs
less. The promised limit is asserted on the median of the processor time.
"""

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

SCRIBELINE = Path(sys.executable).with_name("scribeline")
KART = Path(__file__).resolve().parent.parent / "examples" / "club-kart-98.toml"


def processor_s() -> float:
    """Processor time of all processes that were started from here and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


TIMERS: dict[str, Callable[[], float]] = {"wall": time.perf_counter, "processor": processor_s}
timed_twice = pytest.mark.parametrize(
    "timer", [pytest.param(name, marks=pytest.mark.benchmark(timer=timer)) for name, timer in TIMERS.items()]
)


def run(benchmark: BenchmarkFixture, *arguments: str) -> None:
    command = [str(SCRIBELINE), *arguments]

    def once() -> None:
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)

    benchmark.pedantic(once, rounds=15, warmup_rounds=1)


@timed_twice
def test_help(benchmark: BenchmarkFixture, timer: str) -> None:
    """Promised: under 0.3 s."""
    run(benchmark, "--help")
    if timer == "processor":
        assert benchmark.stats.stats.median < 0.3


@timed_twice
@pytest.mark.parametrize("options", [(), ("--no-plus-minus",)], ids=["with its +-", "without"])
def test_card(benchmark: BenchmarkFixture, timer: str, options: tuple[str, ...]) -> None:
    """The first, untimed round compiles whatever is not in the cache; what is timed are later starts."""
    run(benchmark, "card", str(KART), *options)
