"""Recordings and tables to test trials with, made in memory from a vehicle whose truth is known."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from scribeline.recordings import Channel, GateTable, GateTime, ReadOptions, Recording
from tests.trials.roads import Truth, sampled

KMH = 3.6


def recording(
    name: str,
    pulls: int = 3,
    power: float = 1.0,
    seed: int = 1,
    start: datetime | None = datetime(2026, 6, 1, 9, 0, tzinfo=UTC),
    course: float | None = 0.0,
    sd: float = 0.03,
    hz: float = 10.0,
) -> Recording:
    """A recording with so many pulls of the known vehicle; each pull's power scatters by 1 %."""
    dice, pieces = np.random.default_rng(seed), []
    courses: list[np.ndarray] = []
    for i in range(pulls):
        truth = Truth(peak_kw=11.0 * power * (1.0 + 0.01 * dice.normal()))
        rest = np.full(4000, 5.0)
        _, up = truth.accelerate(5.0, 9.0)
        _, down = truth.coast(float(up[-1]), 4.0, 1, 0.0, 0.0)
        down = np.repeat(down, 10)[:4000]
        brake = np.linspace(down[-1], 5.0, 4000)
        piece = np.concatenate([rest, up, down, brake])
        pieces.append(piece)
        if course is not None:
            courses.append(np.full(piece.size, (course + 180.0 * (i % 2)) % 360.0))
    v = np.concatenate(pieces)
    t, speed = sampled(np.arange(v.size) * 1e-3, v, hz, sd, dice)
    channels = {"speed_m_s": Channel(t, np.maximum(speed, 0.0), "m/s")}
    if courses:
        channels["course_deg"] = Channel(t, np.concatenate(courses)[np.round(t * 1000).astype(int)], "deg")
    return Recording(name, "made up", start, channels)


def table(*rows: tuple[object, ...], source: str = "times.csv") -> GateTable:
    """A table of (setup, run, seconds) or (setup, run, seconds, {column: text}), 25 to 50 km/h."""
    made = []
    for line, row in enumerate(rows, start=2):
        setup, run, seconds, *beside = row
        further = beside[0] if beside else {}
        assert isinstance(further, dict)
        made.append(
            GateTime(
                str(setup),
                str(run),
                25 / KMH,
                float(further.pop("to", 50)) / KMH,
                float(str(seconds)),
                further.pop("direction", ""),
                "",
                None,
                line,
                {key: str(v) for key, v in further.items()},
            )
        )
    return GateTable(source, "gates", tuple(made))


class FakeReader:
    """Stands where `recordings.read` does: hands out what was put in under a file's name."""

    def __init__(self, **files: Recording | GateTable) -> None:
        self.files = files
        self.options: list[ReadOptions] = []

    def __call__(self, path: Path, options: ReadOptions | None = None) -> Recording | GateTable:
        self.options.append(options or ReadOptions())
        return self.files[path.stem]
