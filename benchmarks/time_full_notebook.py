"""A notebook with 500 cylinders and 5,000 recordings beside one with 5 and 10: python benchmarks/time_full_notebook.py

Prints the processor time that the server takes for what each page reads, which other work on the machine hardly moves.
Filling the large one takes some minutes: every recording is a GPX file that goes through the same reading and keeping
as one that is dropped on the page.
"""

import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from scribeline.notebook import Notebook, open_notebook
from scribeline.recordings.invented import invented_runs
from scribeline.recordings.invented.files import write_gpx
from scribeline.tasks.cylinders import cylinders
from scribeline.tasks.desk import desk_of
from scribeline.tasks.history import timeline
from scribeline.tasks.notebook import keep_record
from scribeline.tasks.trial_adding import add_files
from scribeline.tasks.trials import new_trial, show_trial, trials_of
from tests.examples import path_of


def fill(notebook: Notebook, folder: Path, builds: int, trials: int, files: int) -> None:
    """Cylinders that differ, and trials of some of them with so many recordings each."""
    record, own, dice = path_of("club-kart-98").read_text(), folder / "one.toml", np.random.default_rng(1)
    runs, start = invented_runs(), datetime(2026, 5, 16, 9, 0, tzinfo=UTC)
    tracks = [folder / f"run-{number:02}.gpx" for number in range(files)]
    for number, track in enumerate(tracks):
        write_gpx(track, runs[number % len(runs)], start + timedelta(minutes=5 * number), dice)
    for number in range(builds):
        own.write_text(record.replace("value = 50.00, ", f"value = {50 + number / 1000:.3f}, "))
        keep_record(own, build=f"kart {number:03}", author="bench", where=notebook)
    for number in range(trials):
        new_trial(
            f"day {number:03}", build=f"kart {number:03}", gates=["40 to 60 km/h"], author="bench", where=notebook
        )
        added = add_files(f"day {number:03}", tracks, setup="as bought", author="bench", where=notebook)
        assert not any(one.why_not for one in added)


def took_ms(do: Callable[[], object]) -> float:
    """Processor time of the better of three, ms."""
    times = []
    for _ in range(3):
        before = time.process_time()
        do()
        times.append(1e3 * (time.process_time() - before))
    return min(times)


def main() -> None:
    """Fill both and print the table."""
    print(f"{'cylinders':>9}{'recordings':>12}{'home':>8}{'trials':>8}{'trial':>8}{'history':>9}{'desk':>7}   ms")
    for builds, trials, files in ((5, 1, 10), (500, 250, 20)):
        with tempfile.TemporaryDirectory() as name, open_notebook(Path(name) / "n.sqlite", create=True) as notebook:
            fill(notebook, Path(name), builds, trials, files)
            build, trial = f"kart {trials - 1:03}", f"day {trials - 1:03}"
            reads = (
                lambda at=notebook: cylinders(where=at),
                lambda at=notebook, of=build: trials_of(of, where=at),
                lambda at=notebook, of=trial: show_trial(of, where=at),
                lambda at=notebook, of=build: timeline(of, where=at),
                lambda at=notebook, of=build: desk_of(of, where=at),
            )
            figures = "".join(f"{took_ms(do):>8.1f}" for do in reads)
            print(f"{builds:>9}{trials * files:>12}{figures}")


if __name__ == "__main__":
    main()
