"""Trials from sound: gate times within their +/-, the wrong gear put right, octave and clutch from a road speed."""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import TrialError
from scribeline.recordings import Channel, Recording
from scribeline.recordings.invented import GATES, START, invented_runs
from scribeline.recordings.invented.files import write_film, write_nmea
from scribeline.recordings.invented.ride import METRES_PER_TURN, Ride
from scribeline.tasks import notebook as notebook_tasks
from scribeline.tasks import trial_adding
from scribeline.tasks import trials as tasks
from scribeline.tasks.trial_sound import laid_over, slip_words, told_of_sound
from scribeline.trials.runs import Run
from tests.examples import text_of
from tests.tasks.trial_files import FakeReader

NAMES = [f"{low} to {high} km/h" for low, high in GATES]


def begun(folder: Path, text: str = "") -> str:
    where = str(folder / "notebook.sqlite")
    (folder / "kart.toml").write_text(text or text_of("club-kart-98"))
    notebook_tasks.keep_record(folder / "kart.toml", build="kart", author="Kim", where=where)
    tasks.new_trial("day", build="kart", gates=NAMES, author="Kim", where=where)
    return where


def within(run: Run, ride: Ride) -> None:
    for name, (low, high) in zip(NAMES, GATES, strict=True):
        value = run.measures[name]
        assert value.plus_minus is not None
        assert abs(value.value - ride.gate_s(low, high)) <= 1.5 * value.plus_minus


def test_a_film_times_the_run_and_a_log_beside_it_shows_the_clutch(tmp_path: Path) -> None:
    """Runs 1 and 3 of the invented day, whose +/- was too small while neighbouring readings counted as independent."""
    where, rides = begun(tmp_path), invented_runs()
    for number in (0, 2):
        write_film(tmp_path / f"{number}.m4a", rides[number], 98 + number)
        tasks.add_files("day", [tmp_path / f"{number}.m4a"], author="Kim", where=where)
    timed = [run for run in tasks.show_trial("day", where=where).measured.runs if NAMES[0] in run.measures]
    assert len(timed) == 2
    for run, number in zip(timed, (0, 2), strict=True):
        within(run, rides[number])
        assert run.measures[NAMES[0]].plus_minus == pytest.approx(0.018, abs=0.004)

    for one in tasks.show_trial("day", where=where).state.pulls:  # or the same run would count twice
        if one.file_name == "0.m4a":
            name = f"{one.file}.{one.pull.number}"
            tasks.edit_pull("day", name, "leave-out", "heard again with the road beside", author="Kim", where=where)
    write_nmea(tmp_path / "0.nmea", rides[0], START, np.random.default_rng(3))
    (added,) = tasks.add_files(
        "day", [tmp_path / "0.m4a"], road=tmp_path / "0.nmea", sound=told_of_sound(camera="on board"), author="Kim",
        where=where,
    )  # fmt: skip
    said = " ".join(added.notes)
    assert "by ear alone" not in said
    # The invented clutch closes at 4200 rpm, which is 36.4 km/h; bins of 5 km/h say 35 or 40.
    assert "clutch: closed from 35 km/h on" in said or "clutch: closed from 40 km/h on" in said
    last = tasks.show_trial("day", where=where)
    assert last.state.files[-1].data["heard"] == {"camera": "on board"}
    within(last.measured.runs[-1], rides[0])
    with pytest.raises(TrialError, match="one sound"):
        tasks.add_files("day", [tmp_path / "0.m4a"] * 2, road=tmp_path / "0.nmea", where=where)


def heard(speed: Channel, share: float = 1.0, start_s: float = 0.0) -> Recording:
    """The engine of a run whose clutch never slips, at a share of its true speed, begun so much later."""
    t = speed.time_s
    moving = speed.values > 1.0
    rpm = Channel(t[moving] - start_s, speed.values[moving] * share / METRES_PER_TURN * 60.0, "rpm")
    return Recording("film", "sound", START + timedelta(seconds=start_s), {"rpm": rpm})


def road() -> tuple[Recording, Channel]:
    ride = invented_runs()[0]
    t = np.arange(0.0, ride.time_s[-1], 0.1)
    speed = Channel(t, np.interp(t, ride.time_s, ride.speed_m_s), "m/s")
    return Recording("log", "nmea", START, {"speed_m_s": speed}), speed


@pytest.mark.parametrize("share", [1.0, 0.5, 2.0])
@pytest.mark.parametrize("known_clock", [True, False])
def test_two_clocks_are_laid_over_each_other_whatever_octave_is_heard(share: float, known_clock: bool) -> None:
    log, speed = road()
    film = heard(speed, share, 1.5)
    if not known_clock:
        film = Recording(film.source, film.format, None, film.channels)
    assert laid_over(film, log, speed, METRES_PER_TURN).time_s[0] == pytest.approx(-1.5, abs=0.03)


def test_a_road_that_belongs_to_another_run_is_refused() -> None:
    log, speed = road()
    other = Channel(speed.time_s, 5.0 + 3.0 * np.sin(3.0 * speed.time_s), "m/s")
    with pytest.raises(TrialError, match="recording of the same run"):
        laid_over(heard(speed), log, other, METRES_PER_TURN)
    with pytest.raises(TrialError, match="begin the trial with --build"):
        laid_over(heard(speed), log, speed, None)


def test_the_clutch_in_words() -> None:
    """5 to 20 m/s in 15 s; the engine never below 3000 rpm, which through 0.144 m a turn is 7.2 m/s or 26 km/h."""
    t = np.arange(0.0, 15.0, 0.05)
    speed = Channel(t, 5.0 + t, "m/s")
    rpm = Channel(t, np.maximum(3000.0, speed.values / METRES_PER_TURN * 60.0), "rpm")
    said = slip_words(rpm, speed, METRES_PER_TURN, [(0.0, 15.0)])
    assert said == "clutch: closed from 25 km/h on (slip 0.0 %); below that it slips, by 27 % at 15 km/h"
    assert "is 10 % slip" in slip_words(rpm, speed, METRES_PER_TURN / 0.9, [(0.0, 15.0)]).replace(": 10", " is 10")
    assert slip_words(rpm, speed, METRES_PER_TURN, [(20.0, 30.0)]) == ""


def test_a_wrong_gear_of_a_heard_run_changes_its_speed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Through gears of 1.5 and 1.0 the same engine speed is two thirds of the road speed in the lower one."""
    where = begun(tmp_path, text_of("club-kart-98").replace("gears = []", "gears = [1.5, 1.0]"))
    t = np.arange(0.0, 12.0, 0.05)
    film = Recording("a.m4a", "sound", None, {"rpm": Channel(t, 3000.0 + 700.0 * t, "rpm")})
    monkeypatch.setattr(trial_adding, "read", FakeReader(a=film))
    (tmp_path / "a.m4a").write_bytes(b"sound")
    tasks.add_files("day", [tmp_path / "a.m4a"], author="Kim", where=where)
    (high,) = tasks.show_trial("day", where=where).measured.traces.values()
    tasks.edit_pull("day", "2.1", "gear", "it was first gear", gear=1, author="Kim", where=where)
    shown = tasks.show_trial("day", where=where)
    (low,) = shown.measured.traces.values()
    assert low[1].value == pytest.approx(high[1].value / 1.5, rel=1e-6)
    (power,) = (one for _, one in shown.measured.powers.values())
    assert power.rpm[-1] == pytest.approx(3000.0 + 700.0 * t[-1], rel=2e-3)
    with pytest.raises(TrialError, match="accepted: 1 to 2, as in the record"):
        tasks.edit_pull("day", "2.1", "gear", "third", gear=3, author="Kim", where=where)


@pytest.mark.parametrize(
    ("typed", "said"), [({"speeds": "fast"}, "two numbers in rpm"), ({"camera": "drone"}, "standing")]
)
def test_what_cannot_be_meant_of_a_sound_is_refused(typed: dict[str, str], said: str) -> None:
    with pytest.raises(TrialError, match=said):
        told_of_sound(**typed)  # type: ignore[arg-type]
