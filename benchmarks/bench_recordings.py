"""How long the readers of logs take for ten hours at 50 Hz, and in how much memory.

.venv/bin/python benchmarks/bench_recordings.py          # the table of docs/performance-recordings.md
"""

import multiprocessing
import resource
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from scribeline.recordings import Recording, read
from scribeline.recordings.invented.files import _minutes, _sentence
from tests.recordings import written

HOURS = 10
START = datetime(2026, 5, 16, 8, 0, 0, tzinfo=UTC)


def columns(path: Path, hz: int) -> None:
    with path.open("w") as file:
        file.write("Time (s),Speed (km/h),RPM,Acc X (g)\n")
        for i in range(HOURS * 3600 * hz):
            file.write(f"{i / hz:.2f},{30 + i % 400 * 0.1:.2f},{4000 + i % 6000},{0.001 * (i % 300):.3f}\n")


def nmea(path: Path, hz: int) -> None:
    """RMC and, once a second, GGA."""
    with path.open("w") as file:
        for i in range(HOURS * 3600 * hz):
            moment = START + timedelta(seconds=i / hz)
            clock = f"{moment:%H%M%S}.{moment.microsecond // 10000:02d}"
            place = f"{_minutes(48.1 + i * 1e-7, 'NS', 2)},{_minutes(11.5, 'EW', 3)}"
            if i % hz == 0:
                file.write(_sentence(f"GPGGA,{clock},{place},1,09,0.9,510.0,M,46.9,M,,") + "\n")
            file.write(_sentence(f"GPRMC,{clock},A,{place},20.5,90.0,{moment:%d%m%y},,,A") + "\n")


def gpx(path: Path, hz: int) -> None:
    with path.open("w") as file:
        file.write('<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n')
        for i in range(HOURS * 3600 * hz):
            moment = START + timedelta(seconds=i / hz)
            stamp = f"{moment:%Y-%m-%dT%H:%M:%S}.{moment.microsecond // 10000:02d}Z"
            file.write(f'<trkpt lat="{48 + i * 1e-7:.7f}" lon="11.5"><ele>500</ele><time>{stamp}</time></trkpt>\n')
        file.write("</trkseg></trk></gpx>\n")


def fit(path: Path, hz: int) -> None:
    """Stamps in whole seconds, as the protocol has them; without the check sum, which takes minutes to write here."""
    written._crc = lambda _: 0
    path.write_bytes(written.fit([(i // hz, 48.1, 11.5, 5.0 + i % 100 * 0.01) for i in range(HOURS * 3600 * hz)]))


WRITERS: tuple[tuple[str, int, Callable[[Path, int], None]], ...] = (
    ("columns", 50, columns), ("NMEA", 50, nmea), ("GPX", 50, gpx), ("FIT", 50, fit),
    ("NMEA", 10, nmea), ("GPX", 1, gpx), ("FIT", 1, fit),
)  # fmt: skip


def measured(path: str) -> tuple[int, float, float, float]:
    """Rows, processor time, and memory before and at most: in a process of its own."""
    before_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    began = time.process_time()
    recording = read(Path(path))
    took_s = time.process_time() - began
    assert isinstance(recording, Recording)
    rows = max(map(len, recording.channels.values()))
    return rows, took_s, before_mb, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    print("| 10 hours of | rows | file | processor time | memory, at most | of which before |")
    print("|---|---|---|---|---|---|")
    with TemporaryDirectory() as folder:
        for name, hz, write in WRITERS:
            path = Path(folder) / "long"
            write(path, hz)
            with multiprocessing.get_context("spawn").Pool(1) as pool:
                rows, took_s, before_mb, most_mb = pool.apply(measured, (str(path),))
            size = f"{path.stat().st_size / 1e6:.0f} MB"
            print(
                f"| {name}, {hz} Hz | {rows} | {size} | {took_s:.1f} s | {most_mb:.0f} MB | {before_mb:.0f} MB |",
                flush=True,
            )


if __name__ == "__main__":
    main()
