"""How long the readers of logs take for ten hours: at 50 Hz for columns, 10 Hz for satellites, 1 Hz for tracks.

.venv/bin/python benchmarks/bench_recordings.py          # the table of docs/performance-recordings.md
"""

import resource
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from scribeline.recordings import Recording, read
from scribeline.recordings.invented.files import _minutes, _sentence

HOURS = 10
START = datetime(2026, 5, 16, 8, 0, 0, tzinfo=UTC)


def columns(path: Path) -> None:
    with path.open("w") as file:
        file.write("Time (s),Speed (km/h),RPM,Acc X (g)\n")
        for i in range(HOURS * 3600 * 50):
            file.write(f"{i * 0.02:.2f},{30 + i % 400 * 0.1:.2f},{4000 + i % 6000},{0.001 * (i % 300):.3f}\n")


def nmea(path: Path) -> None:
    place = f"{_minutes(48.1, 'NS', 2)},{_minutes(11.5, 'EW', 3)}"
    with path.open("w") as file:
        for i in range(HOURS * 3600 * 10):
            moment = START + timedelta(seconds=i * 0.1)
            clock, place = (
                f"{moment:%H%M%S}.{moment.microsecond // 10000:02d}",
                f"{_minutes(48.1, 'NS', 2)},{_minutes(11.5, 'EW', 3)}",
            )
            file.write(_sentence(f"GPRMC,{clock},A,{place},20.5,90.0,{moment:%d%m%y},,,A") + "\n")


def gpx(path: Path) -> None:
    with path.open("w") as file:
        file.write('<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n')
        for i in range(HOURS * 3600):
            stamp = f"{START + timedelta(seconds=i):%Y-%m-%dT%H:%M:%SZ}"
            file.write(f'<trkpt lat="{48 + i * 1e-6:.7f}" lon="11.5"><ele>500</ele><time>{stamp}</time></trkpt>\n')
        file.write("</trkseg></trk></gpx>\n")


def main() -> None:
    print("| 10 hours of | rows | file | processor time | memory, at most |")
    print("|---|---|---|---|---|")
    writers: dict[str, Callable[[Path], None]] = {"GPX, 1 Hz": gpx, "NMEA, 10 Hz": nmea, "columns, 50 Hz": columns}
    with TemporaryDirectory() as folder:
        for name, write in writers.items():
            path = Path(folder) / "long"
            write(path)
            began = time.process_time()
            recording = read(path)
            took_s = time.process_time() - began
            assert isinstance(recording, Recording)
            rows = max(map(len, recording.channels.values()))
            memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"| {name} | {rows} | {path.stat().st_size / 1e6:.0f} MB | {took_s:.1f} s | {memory_mb:.0f} MB |",
                flush=True,
            )


if __name__ == "__main__":
    main()
