"""Recordings as they are looked at: whole, closely, with pulls that were joined, and undone corrections."""

from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import TrialError
from scribeline.tasks import trial_adding
from scribeline.tasks import trials as tasks
from scribeline.tasks.trial_undo import undo_in_trial
from scribeline.tasks.trial_views import recordings_of, speed_line
from scribeline.tasks.trials import PullChange, edit_pulls, join_pulls
from tests.tasks.trial_files import recording


@pytest.fixture
def where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    place = str(tmp_path / "notebook.sqlite")
    tasks.new_trial("day", gates=["25 to 50 km/h"], author="Kim", where=place)
    monkeypatch.setattr(trial_adding, "read", lambda path, options: recording("a.gpx", 3))
    (tmp_path / "a.gpx").write_text("bytes of it")
    (added,) = tasks.add_files("day", [tmp_path / "a.gpx"], setup="cut", author="Kim", where=place)
    assert added.runs == 3
    return place


def test_a_recording_is_shown_with_its_pulls_and_their_times(where: str) -> None:
    (one,) = recordings_of(tasks.show_trial("day", where=where))
    assert (one.number, one.file_name, one.setup, one.heard) == (2, "a.gpx", "cut", False)
    assert [pull.name for pull in one.pulls] == ["2.1", "2.2", "2.3"]
    assert all(pull.times[0].startswith("25 to 50 km/h: ") for pull in one.pulls)


def test_the_speed_is_drawn_from_few_readings_far_off_and_from_all_of_them_near(where: str) -> None:
    shown = tasks.show_trial("day", where=where)
    (one,) = recordings_of(shown)
    truth = recording("a.gpx", 3).channels["speed_m_s"]
    whole = speed_line(shown, 2, 0.0, 1000.0)
    far = sum(len(t) for t, _ in whole.pieces)
    assert far <= 600
    assert whole.top_km_h == pytest.approx(3.6 * truth.values.max(), abs=0.05)
    pull = one.pulls[1]
    near = speed_line(shown, 2, pull.start_s, pull.end_s)
    ((t, v),) = near.pieces
    inside = (truth.time_s >= t[0] - 1e-6) & (truth.time_s <= t[-1] + 1e-6)
    assert len(t) == int(inside.sum())
    np.testing.assert_allclose(np.array(v), 3.6 * truth.values[inside], atol=0.01)
    assert speed_line(shown, 2, 5000.0, 5010.0).pieces == ()


def test_two_pulls_become_one_and_can_be_parted_again(where: str) -> None:
    before = recordings_of(tasks.show_trial("day", where=where))[0].pulls
    join_pulls("day", "2.1", "2.2", "one pull, not two", author="Kim", where=where)
    (one,) = recordings_of(tasks.show_trial("day", where=where))
    assert (one.pulls[0].start_s, one.pulls[0].end_s) == (before[0].start_s, before[1].end_s)
    assert one.pulls[1].left_out == "one pull, not two"
    number = tasks.journal_number("day", where=where)
    undo_in_trial("day", number, where=where)
    undo_in_trial("day", number - 1, where=where)
    assert recordings_of(tasks.show_trial("day", where=where))[0].pulls == before
    with pytest.raises(TrialError, match="two pulls of one recording"):
        join_pulls("day", "2.1", "9.1", "one", where=where)


def test_several_corrections_are_kept_all_or_none(where: str) -> None:
    number = tasks.journal_number("day", where=where)
    changes = [PullChange("2.1", "leave-out"), PullChange("2.9", "leave-out")]
    with pytest.raises(TrialError, match="pull 9"):
        edit_pulls("day", changes, "brakes dragged", where=where)
    assert tasks.journal_number("day", where=where) == number


def test_the_trials_of_a_build_are_those_driven_on_it(where: str) -> None:
    assert tasks.trials_of("kart", where=where) == []
    assert [one.trial.name for one in tasks.list_trials(where=where)] == ["day"]
