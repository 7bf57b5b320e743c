"""The invented day, written and read back: every recording tells the truth that it was made from."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scribeline.recordings import GateTable, ReadOptions, Recording, SoundOptions, read
from scribeline.recordings.invented import GATES, ORDER, invent_day, invented_runs
from scribeline.recordings.invented.ride import METRES_PER_TURN, Ride
from scribeline.recordings.sound.gearing import clutch_slip

RUNS = {f"{run.setup.replace(' ', '-')}-{run.run}": run for run in invented_runs()}


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("day")
    invent_day(folder)
    return folder


def recorded(path: Path, options: ReadOptions | None = None) -> Recording:
    recording = read(path, options)
    assert isinstance(recording, Recording)
    return recording


def off(recording: Recording, channel: str, truth: np.ndarray, run: Ride) -> np.ndarray:
    found = recording.channels[channel]
    return found.values - np.interp(found.time_s, run.time_s, truth)


def test_the_same_day_every_time(day: Path, tmp_path: Path) -> None:
    for again in invent_day(tmp_path):
        assert again.read_bytes() == (day / again.name).read_bytes(), again.name


def test_every_run_is_there_and_small(day: Path) -> None:
    assert len(list(day.glob("*.nmea"))) == len(ORDER)
    assert {path.suffix for path in day.iterdir()} == {".nmea", ".gpx", ".fit", ".csv", ".m4a", ".toml"}
    assert sum(path.stat().st_size for path in day.iterdir()) < 2_000_000


@pytest.mark.parametrize(
    ("ending", "channel", "sd"),
    [(".nmea", "speed_m_s", 0.05), (".fit", "speed_m_s", 0.05), (".csv", "wheel_speed_m_s", 0.042)],
)
def test_speeds_scatter_about_the_truth(day: Path, ending: str, channel: str, sd: float) -> None:
    for name in ("stock-1", "new-pipe-1"):
        run = RUNS[name]
        error = off(recorded(day / f"{name}{ending}"), channel, run.speed_m_s, run)
        moving = error[np.abs(error) > 0]
        assert abs(error.mean()) < 0.03
        assert moving.std() < 1.5 * sd


def test_the_track_has_the_distance(day: Path) -> None:
    """From the first to the last place on the equator, where a degree of longitude is 111,319.5 m on WGS 84."""
    run = RUNS["stock-1"]
    places = recorded(day / "stock-1.gpx").channels["longitude_deg"]
    assert (places.values[-1] - places.values[0]) * 111_319.49 == pytest.approx(run.distance_m[-1], abs=6.0)


def test_the_film_gives_engine_speed_road_speed_and_clutch_slip(day: Path) -> None:
    run = RUNS["new-pipe-1"]
    film = recorded(day / "new-pipe-1.m4a", ReadOptions(sound=SoundOptions(metres_per_turn=METRES_PER_TURN)))
    rpm = film.channels["rpm"]
    error = np.abs(off(film, "rpm", run.rpm, run)) / rpm.values
    assert len(rpm) > 0.75 * len(film.channels["sound_confidence"])
    assert np.median(error) < 0.005
    assert (error > 0.03).mean() < 0.01
    wheel = recorded(day / "new-pipe-1.csv").channels["wheel_speed_m_s"]
    slip = clutch_slip(rpm, wheel, METRES_PER_TURN)
    early = (slip.time_s > 2.2) & (slip.time_s < 3.5)
    late = (slip.time_s > 7.5) & (slip.time_s < 13.5)
    assert slip.values[early].min() > 0.3
    assert np.abs(slip.values[late]).max() < 0.03


def test_the_typed_table_holds_the_truth_to_its_scatter(day: Path) -> None:
    table = read(day / "gate-times.csv")
    assert isinstance(table, GateTable)
    assert len(table.rows) == len(ORDER) * len(GATES)
    for row in table.rows:
        run = RUNS[f"{row.setup.replace(' ', '-')}-{row.run}"]
        assert row.seconds == pytest.approx(run.gate_s(3.6 * row.from_m_s, 3.6 * row.to_m_s), abs=0.2)
        assert row.direction == run.direction


def test_the_truth_says_that_it_is_invented(day: Path) -> None:
    truth = tomllib.loads((day / "truth.toml").read_text())
    assert truth["invented"] is True
    assert [run["setup"] for run in truth["runs"]] == list(ORDER)
    mean = {
        (setup, gate): np.mean([run[gate] for run in truth["runs"] if run["setup"] == setup])
        for setup in set(ORDER)
        for gate in ("from_40_to_60_km_h_s", "from_60_to_80_km_h_s")
    }
    assert mean["new pipe", "from_40_to_60_km_h_s"] > mean["stock", "from_40_to_60_km_h_s"] + 0.05
    assert mean["new pipe", "from_60_to_80_km_h_s"] < mean["stock", "from_60_to_80_km_h_s"] - 0.05


def test_the_ride_obeys_its_own_balance() -> None:
    """Coasting, nothing but drag: m (1 + share) dv/dt = -(rolling + air), by the difference of two moments."""
    run = RUNS["stock-1"]
    a, b = (int(np.searchsorted(run.time_s, t)) for t in (15.0, 15.5))
    mean = (run.speed_m_s[a] + run.speed_m_s[b]) / 2 + 0.8
    force = 0.018 * 152 * 9.80665 + 0.5 * 1.2 * 0.62 * mean**2
    assert (run.speed_m_s[a] - run.speed_m_s[b]) * 152 * 1.03 / 0.5 == pytest.approx(force, rel=2e-3)
