"""A recording read anew in a trial: it takes the place of its earlier reading, and what was decided stays."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import TrialError
from scribeline.recordings import Channel
from scribeline.tasks import trial_adding
from scribeline.tasks.notebook import keep_record
from scribeline.tasks.trial_anew import Told, read_anew
from scribeline.tasks.trial_state import name_of
from scribeline.tasks.trial_undo import turn_last
from scribeline.tasks.trial_views import speed_line
from scribeline.tasks.trials import add_files, drop_run, edit_pull, new_trial, show_trial
from tests.examples import path_of
from tests.tasks.trial_files import FakeReader, recording


@pytest.fixture
def where(tmp_path: Path) -> str:
    """A trial with a recording of four pulls (file 1), whose reader can be told otherwise."""
    where = str(tmp_path / "notebook.sqlite")
    keep_record(path_of("club-kart-98"), build="kart", where=where)
    new_trial("day", build="kart", author="Kim", where=where)
    return where


@pytest.fixture
def reader(monkeypatch: pytest.MonkeyPatch, where: str, tmp_path: Path) -> FakeReader:
    fake = FakeReader(film=recording("film.gpx", 4, 1.0, 1))
    monkeypatch.setattr(trial_adding, "read", fake)
    (tmp_path / "film.gpx").write_bytes(b"the bytes of the film")
    (added,) = add_files("day", [tmp_path / "film.gpx"], setup="stock", direction="out", author="Kim", where=where)
    assert added.runs == 4
    return fake


def pulls(where: str) -> dict[str, tuple[float, float, str]]:
    state = show_trial("day", where=where).state
    return {name_of(one): (one.pull.start_s, one.pull.end_s, one.pull.left_out) for one in state.pulls}


def faster(reader: FakeReader, share: float = 1.2, until_s: float = 1e9) -> None:
    """What another reading of the same file finds: speeds by a share higher, and nothing after a moment."""
    film = recording("film.gpx", 4, 1.0, 1)
    speed = film.channels["speed_m_s"]
    there = speed.time_s <= until_s
    course = film.channels["course_deg"]
    reader.files["film"] = replace(
        film,
        channels={
            "speed_m_s": Channel(speed.time_s[there], share * speed.values[there], "m/s"),
            "course_deg": Channel(course.time_s[there], course.values[there], "deg"),
        },
    )


def test_it_counts_once_and_what_was_decided_about_its_pulls_stays(where: str, reader: FakeReader) -> None:
    start, end, _ = pulls(where)["1.2"]
    edit_pull("day", "1.1", "leave-out", "brakes dragged", author="Kim", where=where)
    edit_pull("day", "1.2", "trim", "by eye", start_s=start + 0.5, end_s=end - 2.0, author="Kim", where=where)
    drop_run("day", "stock 1.3", "somebody was in the way", author="Kim", where=where)
    before = show_trial("day", where=where)
    faster(reader)
    added = read_anew("day", 1, Told(), author="Kim", where=where)
    after = show_trial("day", where=where)
    assert (added.runs, len(after.state.files), after.state.files[0].number) == (4, 1, 1)
    assert {run.name for run in after.measured.runs} == {"1.1", "1.2", "1.3", "1.4"}
    assert {run.setup for run in after.measured.runs} == {"stock"}
    assert {one.direction for one in after.state.pulls} == {"out"}
    assert pulls(where)["1.1"][2] == "brakes dragged"
    assert pulls(where)["1.2"][:2] == pytest.approx((start + 0.5, end - 2.0))
    assert {run.name: run.dropped for run in after.measured.runs}["1.3"] == "somebody was in the way"
    top = {shown.state.number: max(speed_line(shown, 1, 0.0, 40.0).pieces[0][1]) for shown in (before, after)}
    assert top[after.state.number] == pytest.approx(1.2 * top[before.state.number], rel=1e-3)
    edit_pull("day", "1.1", "take-back-in", "it counts after all", author="Kim", where=where)  # goes on as before
    assert pulls(where)["1.1"][2] == ""
    assert turn_last("day", where=where) == "pull 1.1: take back in"
    assert turn_last("day", where=where) == "film.gpx read anew"
    assert show_trial("day", where=where).measured.runs == before.measured.runs
    assert turn_last("day", back=True, where=where) == "film.gpx read anew"
    assert show_trial("day", where=where).measured.runs == after.measured.runs


def test_a_pull_that_is_not_found_any_more_is_said_with_what_was_decided(where: str, reader: FakeReader) -> None:
    start, end, _ = pulls(where)["1.4"]
    edit_pull("day", "1.4", "leave-out", "rider shut the throttle", author="Kim", where=where)
    drop_run("day", "stock 1.4", "for the book", author="Kim", where=where)
    faster(reader, 1.0, start - 1.0)
    added = read_anew("day", 1, Told(), author="Kim", where=where)
    said = (
        f"pull 1.4, {start:.1f} to {end:.1f} s, is not found any more, and with it what was said about it: rider shut "
        "the throttle; for the book"
    )
    assert (added.runs, added.notes[-1]) == (3, said)
    assert show_trial("day", where=where).state.files[0].data["notes"][-1] == said
    assert set(pulls(where)) == {"1.1", "1.2", "1.3"}


def test_ends_that_were_set_far_out_have_their_readings(where: str, reader: FakeReader) -> None:
    """Around pulls 6 s are kept; one added by hand far from any has to be read from the file."""
    speed = reader.files["film"].channels["speed_m_s"]  # type: ignore[union-attr]
    gaps = [(a, b) for (_, a, _), (b, _, _) in pairwise(pulls(where).values())]
    middle = 0.5 * sum(max(gaps, key=lambda one: one[1] - one[0]))
    edit_pull("day", "1", "add", "the rule missed it", start_s=middle, end_s=middle + 1.5, author="Kim", where=where)
    faster(reader)
    read_anew("day", 1, Told(), author="Kim", where=where)
    (added,) = (one for one in show_trial("day", where=where).state.pulls if one.pull.found_start_s is None)
    assert added.trace is not None
    near = np.interp(middle, added.trace.time_s, added.trace.speed_m_s)
    assert near == pytest.approx(1.2 * np.interp(middle, speed.time_s, speed.values), rel=1e-3)


def test_setup_and_direction_can_be_put_right_and_dropped_runs_stay_dropped(where: str, reader: FakeReader) -> None:
    drop_run("day", "stock 1.3", "somebody was in the way", author="Kim", where=where)
    read_anew("day", 1, Told(setup="cut", direction="back"), author="Kim", where=where)
    shown = show_trial("day", where=where)
    assert {(run.setup, run.direction) for run in shown.measured.runs} == {("cut", "back")}
    assert {run.name: run.dropped for run in shown.measured.runs}["1.3"] == "somebody was in the way"
    drop_run("day", "cut 1.3", "it counts after all", back=True, author="Kim", where=where)
    assert not any(run.dropped for run in show_trial("day", where=where).measured.runs)


def test_what_cannot_be_read_so_leaves_the_earlier_reading(where: str, reader: FakeReader, tmp_path: Path) -> None:
    before = show_trial("day", where=where)
    for number, road, said in ((7, None, "file 7"), (1, 1, "another recording than itself"), (1, 9, "file 9")):
        with pytest.raises(TrialError, match=said):
            read_anew("day", number, Told(road=road), author="Kim", where=where)
    reader.files["track"] = recording("track.gpx", 1, 1.0, 2)
    (tmp_path / "track.gpx").write_bytes(b"a track")
    with pytest.raises(TrialError, match="a sound in which an engine is heard"):
        read_anew("day", 1, Told(road=tmp_path / "track.gpx"), author="Kim", where=where)
    after = show_trial("day", where=where)
    assert (after.state.number, after.measured.runs) == (before.state.number, before.measured.runs)


def test_the_first_adding_says_how_to_read_it_anew(where: str, reader: FakeReader, tmp_path: Path) -> None:
    (again,) = add_files("day", [tmp_path / "film.gpx"], author="Kim", where=where)
    assert "scribeline trial read-anew 'day' 1" in again.why_not
