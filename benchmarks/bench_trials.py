"""How long a trial takes to answer: two hundred recordings shown and compared, one verdict, one film of numbers.

    .venv/bin/pytest benchmarks/bench_trials.py --benchmark-only

The recordings are made in memory, 60 s of 10 readings a second with a pull in each; what is timed is the notebook,
the journal, smoothing, power and statistics. Reading formats is timed in bench_recordings.
"""

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.notebook import EntryToKeep, FileToAttach, add_entries, open_notebook
from scribeline.recordings import Channel, Recording
from scribeline.tasks import notebook as notebook_tasks
from scribeline.tasks import trials
from scribeline.tasks.trial_files import what_was_read
from scribeline.tasks.verdicts import compare_named
from scribeline.trials.contrast import contrast
from scribeline.trials.pulls import find_pulls

pytestmark = pytest.mark.benchmark(timer=time.process_time)
KART = Path(__file__).resolve().parent.parent / "examples" / "club-kart-98.toml"


def recording(name: str, power: float, seed: int, start: datetime) -> Recording:
    """A minute of 10 readings a second: rolling, a pull that flattens out as pulls do, rolling out."""
    t = np.arange(0.0, 60.0, 0.1)
    pull = 5.0 + 20.0 * power * (1.0 - np.exp(-(t - 20.0) / 6.0))
    v = np.where(t < 20.0, 5.0, np.where(t < 32.0, pull, 22.0 - 0.5 * (t - 32.0)))
    v = v + 0.05 * np.random.default_rng(seed).normal(size=t.size)
    return Recording(name, "gpx", start, {"speed_m_s": Channel(t, np.maximum(v, 0.0), "m/s")})


@pytest.fixture(scope="module")
def where(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A notebook with two trials of a hundred recordings each."""
    place = str(tmp_path_factory.mktemp("bench") / "notebook.sqlite")
    notebook_tasks.keep_record(KART, build="kart", author="bench", where=place)
    first = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
    for name, power in (("before", 1.0), ("after", 1.05)):
        trials.new_trial(name, build="kart", gates=["25 to 60 km/h"], author="bench", where=place)
        entries = []
        for i in range(100):
            one = recording(f"{name}-{i}.gpx", power, i, first + timedelta(minutes=2 * i))
            file = FileToAttach(f"{name}-{i}.gpx", "application/gpx+xml", f"{name} {i}".encode() * 1000)
            entries.append(EntryToKeep("file", what_was_read(one, None) | {"setup": "", "direction": ""}, file=file))
        with open_notebook(place) as notebook:
            add_entries(notebook, name, entries, author="bench")
    return place


def test_show_a_trial_of_100(benchmark: BenchmarkFixture, where: str) -> None:
    shown = benchmark(trials.show_trial, "before", where=where)
    assert len(shown.measured.runs) == 100


def test_compare_200_recordings(benchmark: BenchmarkFixture, where: str) -> None:
    compared = benchmark(compare_named, ["before", "after"], where=where)
    assert compared.comparison.of(compared.comparison.main)[0].shown


def test_find_pulls_in_ten_hours_at_50_hz(benchmark: BenchmarkFixture) -> None:
    t = np.arange(0.0, 36_000.0, 0.02)
    v = 12.0 + 6.0 * np.sin(t / 7.0)
    pulls = benchmark(find_pulls, t, v)
    assert len(pulls) > 500


def test_2000_synthetic_verdicts(benchmark: BenchmarkFixture) -> None:
    dice = np.random.default_rng(1)
    second, place = np.array([0, 1, 1, 0, 0, 1]), np.arange(6.0)
    y = dice.normal(size=(2000, 6))
    benchmark(contrast, y, second, place)
