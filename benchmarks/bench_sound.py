"""How well and how fast the engine speed comes out of a soundtrack, over a grid of invented recordings.

    .venv/bin/python benchmarks/bench_sound.py            # the table of docs/performance.md, a few minutes
    .venv/bin/pytest benchmarks/bench_sound.py            # how long one minute of stereo sound takes

Each cell of the grid is an engine law, a kind of disturbance and a signal to noise ratio, as three phones hear it, AAC
at 64 or 128 kbit/s. Promised: median error below 0.5 %; fewer than 1 % of the instants called sure and off by
more than 3 %; a minute of stereo sound in less than 3 s on 2 cores.
"""

import sys
import time
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from scribeline.recordings import Recording, read
from scribeline.recordings.sound.synthetic import Scene, engine_sound, write_sound

LAWS = {
    "pulls, up to 2,700 rpm/s": ((0, 2, 5, 7, 8, 12, 14, 18), (3000, 3000, 11000, 12000, 9500, 3000, 2000, 8000)),
    "4,000 rpm/s, 2,000 to 12,000": (
        (0, 1, 3.5, 5, 7.5, 9, 11.5, 13),
        (2000, 2000, 12000, 12000, 2000, 2000, 12000, 12000),
    ),
    "a long pull": ((0, 6, 14, 18), (4200, 9000, 10300, 10400)),
}
DISTURBANCES: dict[str, dict[str, object]] = {
    "wind": {"hiss": 0.2},
    "hiss": {"wind": 0.2},
    "voices": {"speech": 2.0, "wind": 0.5, "hiss": 0.2},
    "gear whine": {"whine": 2.0},
    "all of them": {"speech": 1.0, "whine": 1.0},
}
PHONES: dict[str, dict[str, object]] = {
    "plain": {},
    "nothing below 300 Hz, automatic gain": {"missing_below_hz": 300.0, "automatic_gain": True},
    "clipped, every second firing 0.7": {"clipping": True, "half_order": 0.3},
}
RATIOS_DB = (-5.0, 5.0, 20.0)
SEEDS = (11,)


def heard(folder: Path, law: str, scene: Scene, kbit_s: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Relative error at every sure instant, all instants' count in an array of one, and the seconds it took."""
    times, rpm = (np.array(x, dtype=float) for x in LAWS[law])
    path = folder / "film.m4a"
    write_sound(path, engine_sound(times, rpm, scene), kbit_s=kbit_s)
    began = time.perf_counter()
    recording = read(path)
    took_s = time.perf_counter() - began
    assert isinstance(recording, Recording)
    every = len(recording.channels["sound_confidence"])
    found = recording.channels.get("rpm")
    if found is None:
        return np.empty(0), np.array([every]), took_s
    return np.abs(found.values / np.interp(found.time_s, times, rpm) - 1), np.array([every]), took_s


def main() -> None:
    print("| engine | disturbed by | SNR | known | median error | sure but off by > 3 % | worst recording |")
    print("|---|---|---|---|---|---|---|")
    seconds = sound_s = 0.0
    errors, instants = [], 0
    with TemporaryDirectory() as folder:
        for law, disturbance, ratio in product(LAWS, DISTURBANCES, RATIOS_DB):
            cell, count, worst = [], 0, 0.0
            for phone, seed in product(PHONES, SEEDS):
                scene = Scene(snr_db=ratio, seed=seed, **DISTURBANCES[disturbance], **PHONES[phone])  # type: ignore[arg-type]
                error, every, took_s = heard(Path(folder), law, scene, 64 if phone == "plain" else 128)
                cell.append(error)
                count += int(every[0])
                worst = max(worst, float((error > 0.03).sum() / every[0]))
                seconds, sound_s = seconds + took_s, sound_s + LAWS[law][0][-1]
            found = np.concatenate(cell)
            errors.append(found)
            instants += count
            median = f"{100 * np.median(found):.2f} %" if len(found) else ""
            known, wrong = 100 * len(found) / count, 100 * (found > 0.03).sum() / count
            row = [
                law,
                disturbance,
                f"{ratio:g} dB",
                f"{known:.0f} %",
                median,
                f"{wrong:.2f} %",
                f"{100 * worst:.2f} %",
            ]
            print("|", " | ".join(row), "|")
            sys.stdout.flush()
    found = np.concatenate(errors)
    known, wrong = 100 * len(found) / instants, 100 * (found > 0.03).sum() / instants
    print(f"| all | | | {known:.0f} % | {100 * np.median(found):.2f} % | {wrong:.2f} % | |")
    print(f"\n{seconds:.0f} s for {sound_s / 60:.0f} min of sound: {60 * seconds / sound_s:.2f} s a minute")


@pytest.fixture(scope="module")
def minute(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "minute.m4a"
    times, rpm = np.array([0, 5, 10, 18, 20, 30, 40, 45, 60.0]), np.array([3, 3, 11, 12, 4, 9, 9.5, 3, 11]) * 1000.0
    write_sound(path, engine_sound(times, rpm, Scene(snr_db=5, speech=0.5, whine=0.3)))
    return path


def test_a_minute_of_stereo_sound(benchmark: BenchmarkFixture, minute: Path) -> None:
    """Promised: under 3 s on 2 cores; held against the processor time, which a busy machine disturbs less."""
    read(minute)
    began = time.process_time()
    benchmark.pedantic(read, (minute,), rounds=3)
    assert (time.process_time() - began) / 3 < 3.0


if __name__ == "__main__":
    main()
