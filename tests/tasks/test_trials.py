"""Trials from files to a verdict: kept to the byte, corrected and never deleted."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import NotebookError, RecordingError, TrialError
from scribeline.notebook import open_notebook
from scribeline.recordings import Channel, Recording
from scribeline.tasks import notebook as notebook_tasks
from scribeline.tasks import trial_adding
from scribeline.tasks import trials as tasks
from scribeline.tasks.trial_undo import turn_last
from scribeline.tasks.verdicts import compare_named
from scribeline.trials.positions import leg
from tests.tasks.trial_files import FakeReader, recording, table
from tests.trials.roads import Truth

KART = Path("examples/club-kart-98.toml")


@pytest.fixture
def where(tmp_path: Path) -> str:
    return str(tmp_path / "notebook.sqlite")


@pytest.fixture
def reader(monkeypatch: pytest.MonkeyPatch) -> FakeReader:
    fake = FakeReader(
        stock=recording("stock.gpx", 4, 1.0, 1),
        cut=recording("cut.gpx", 4, 1.06, 2, datetime(2026, 6, 1, 10, 0, tzinfo=UTC)),
        times=table(
            ("stock", 1, 5.1), ("stock", 2, 5.0), ("stock", 3, 5.2), ("cut", 1, 4.8), ("cut", 2, 4.7), ("cut", 3, 4.9)
        ),
    )
    monkeypatch.setattr(trial_adding, "read", fake)
    return fake


def files(tmp_path: Path, *names: str) -> list[Path]:
    made = []
    for name in names:
        path = tmp_path / name
        path.write_bytes(f"the bytes of {name}".encode())
        made.append(path)
    return made


def test_a_recording_becomes_pulls_with_times_and_power(where: str, reader: FakeReader, tmp_path: Path) -> None:
    notebook_tasks.keep_record(KART, build="kart", author="Kim", where=where)
    tasks.new_trial(
        "as bought", build="kart", air="18 C, 1003 hPa, 60 %", gates=["25 to 60 km/h"], author="Kim", where=where
    )
    (added,) = tasks.add_files("as bought", files(tmp_path, "stock.gpx"), author="Kim", where=where)
    assert (added.format, added.runs, added.why_not) == ("made up", 4, "")
    shown = tasks.show_trial("as bought", where=where)
    keys = [one.key for one in shown.measured.measures]
    assert keys[:2] == ["25 to 60 km/h", "mean acceleration, 25 to 60 km/h"]
    assert any(key.startswith("mean power, ") for key in keys)
    assert "most power at the crank" in keys
    first = shown.measured.runs[0]
    assert (first.name, first.setup, first.direction, first.day) == ("2.1", "as bought", "N", "2026-06-01")
    assert [run.direction for run in shown.measured.runs] == ["N", "S", "N", "S"]
    assert first.measures["25 to 60 km/h"].plus_minus is not None
    with open_notebook(where) as opened:
        entry = shown.state.files[0]
        assert entry.sha256 is not None
        assert opened.content(entry.sha256) == b"the bytes of stock.gpx"


def test_power_in_standard_air_needs_the_air(where: str, reader: FakeReader, tmp_path: Path) -> None:
    notebook_tasks.keep_record(KART, build="kart", author="Kim", where=where)
    tasks.new_trial("day", build="kart", author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "stock.gpx"), author="Kim", where=where)
    with pytest.raises(TrialError, match="trial set 'day' --air"):
        tasks.show_trial("day", correction="iso-1585", where=where)
    tasks.set_trial("day", air="18 C, 1003 hPa, 60 %", author="Kim", where=where)
    plain, corrected = (tasks.show_trial("day", correction=one, where=where) for one in (None, "iso-1585"))
    name = "most power at the crank"
    ratio = corrected.measured.runs[0].measures[f"{name}, iso-1585"].value / plain.measured.runs[0].measures[name].value
    # 18 °C, 1003 hPa less 12.4 hPa of vapour: (990 / 990.6)^1.2 (291 / 298)^0.6
    assert ratio == pytest.approx((990 / 990.6) ** 1.2 * (291 / 298) ** 0.6, rel=2e-4)


def test_one_bad_file_does_not_keep_the_others_out(
    where: str, reader: FakeReader, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def picky(path: Path, options: object = None) -> object:
        if path.stem == "broken":
            raise RecordingError("broken.gpx ends in the middle\n    what to do: copy it again")
        return reader(path)

    monkeypatch.setattr(trial_adding, "read", picky)
    tasks.new_trial("day", author="Kim", where=where)
    added = tasks.add_files("day", files(tmp_path, "stock.gpx", "broken.gpx", "cut.gpx"), author="Kim", where=where)
    assert [one.why_not.split("\n")[0] for one in added] == ["", "broken.gpx ends in the middle", ""]
    assert [e.file_name for e in tasks.show_trial("day", where=where).state.files] == ["stock.gpx", "cut.gpx"]


def test_the_columns_chosen_for_a_table_are_remembered(where: str, reader: FakeReader, tmp_path: Path) -> None:
    for name in ("first", "second"):
        tasks.new_trial(name, author="Kim", where=where)
    one, two, other = (tmp_path / name / "times.csv" for name in ("a", "b", "c"))
    for path, head in ((one, "t;v"), (two, "t;v"), (other, "x;y")):
        path.parent.mkdir()
        path.write_text(f"{head}\n1;2\n")
    chosen = {"v": "speed_m_s mph"}
    tasks.add_files("first", [one], columns=chosen, decimal=",", author="Kim", where=where)
    tasks.add_files("second", [two, other], author="Kim", where=where)
    assert [dict(o.columns) for o in reader.options] == [chosen, chosen, {}]
    assert [o.decimal for o in reader.options] == [",", ",", None]


def test_a_pull_is_corrected_and_the_recording_stays(where: str, reader: FakeReader, tmp_path: Path) -> None:
    tasks.new_trial("day", author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "stock.gpx"), author="Kim", where=where)
    tasks.edit_pull("day", "1.2", "leave-out", "rider gave up", author="Kim", where=where)
    tasks.edit_pull("day", "1.1", "trim", "brakes dragged at first", start_s=5.0, author="Kim", where=where)
    shown = tasks.show_trial("day", where=where)
    pulls = {one.pull.number: one.pull for one in shown.state.pulls}
    assert pulls[2].left_out == "rider gave up"
    assert pulls[1].start_s == 5.0
    assert pulls[1].found_start_s != 5.0
    assert [run.dropped for run in shown.measured.runs] == ["", "rider gave up", "", ""]
    tasks.edit_pull("day", "1.2", "take-back-in", "he did not, it was the other one", author="Kim", where=where)
    again = tasks.show_trial("day", where=where)
    assert all(not run.dropped for run in again.measured.runs)
    assert len(again.state.entries) == 4
    tasks.edit_pull("day", "1.2", "direction", "the heading was wrong", direction="out", author="Kim", where=where)
    assert [run.direction for run in tasks.show_trial("day", where=where).measured.runs] == ["N", "out", "N", "S"]
    turn_last("day", author="Kim", where=where)
    assert [run.direction for run in tasks.show_trial("day", where=where).measured.runs] == ["N", "S", "N", "S"]
    with pytest.raises(TrialError, match="such as out or back"):
        tasks.edit_pull("day", "1.2", "direction", "the heading was wrong", author="Kim", where=where)
    with pytest.raises(TrialError, match="without a reason"):
        tasks.edit_pull("day", "1.2", "leave-out", " ", author="Kim", where=where)
    with pytest.raises(TrialError, match=r"accepted: 1\.1, 1\.2, 1\.3, 1\.4"):
        tasks.edit_pull("day", "9.9", "leave-out", "what", author="Kim", where=where)


def test_a_pull_that_was_missed_is_added_from_the_kept_bytes(where: str, reader: FakeReader, tmp_path: Path) -> None:
    """Its readings lie outside of what was kept around the pulls, so the file is read anew in the same way."""
    reader.files["long"] = recording("long.gpx", 1, 1.0, 3)
    tasks.new_trial("day", author="Kim", where=where)
    columns = {"v": "speed_m_s km/h"}
    tasks.add_files("day", files(tmp_path, "long.gpx"), columns=columns, decimal=",", author="Kim", where=where)
    tasks.edit_pull("day", "1", "add", "a last try", start_s=19.6, end_s=20.9, author="Kim", where=where)
    pulls = tasks.show_trial("day", where=where).state.pulls
    assert [(one.pull.number, one.pull.found_start_s is None) for one in pulls] == [(1, False), (2, True)]
    assert [(o.decimal, dict(o.columns)) for o in reader.options] == [(",", columns)] * 2
    assert pulls[1].trace is not None
    assert pulls[1].trace.time_s[0] <= 19.6 <= 20.5 <= pulls[1].trace.time_s[-1]


def test_a_run_is_dropped_with_a_reason_and_taken_back(where: str, reader: FakeReader, tmp_path: Path) -> None:
    tasks.new_trial("day", author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "times.csv"), author="Kim", where=where)
    with pytest.raises(TrialError, match="could be several"):
        tasks.drop_run("day", "2", "missed the mark", where=where)
    with pytest.raises(TrialError, match="only slow is no reason"):
        tasks.drop_run("day", "cut 2", "", author="Kim", where=where)
    assert tasks.drop_run("day", "cut 2", "missed the mark", author="Kim", where=where) == "cut 2"
    compared = compare_named(["day"], where=where).comparison
    assert len(compared.of(compared.main)[0].second.values) == 2
    assert [run.dropped for run in compared.runs if run.dropped] == ["missed the mark"]
    with pytest.raises(TrialError, match="dropped already"):
        tasks.drop_run("day", "cut 2", "once more", author="Kim", where=where)
    tasks.drop_run("day", "cut 2", "it did not", back=True, author="Kim", where=where)
    compared = compare_named(["day"], where=where).comparison
    assert len(compared.of(compared.main)[0].second.values) == 3


def test_two_trials_are_compared_by_the_clock(where: str, reader: FakeReader, tmp_path: Path) -> None:
    notebook_tasks.keep_record(KART, build="kart", author="Kim", where=where)
    for trial, file in (("as bought", "stock.gpx"), ("squish set", "cut.gpx")):
        tasks.new_trial(trial, build="kart", gates=["25 to 60"], author="Kim", where=where)
        tasks.add_files(trial, files(tmp_path, file), author="Kim", where=where)
    found = compare_named(["as bought", "Squish Set"], where=where)
    (main,) = found.comparison.of(found.comparison.main)
    assert (main.first.setup, main.second.setup) == ("as bought", "squish set")
    assert main.design.covariates == ("direction", "order")
    assert [run.order for run in found.comparison.runs] == [float(i) for i in range(1, 9)]
    assert "drift and difference can hardly be told apart" in " ".join(main.warnings)
    plain = compare_named(["as bought", "squish set"], leave_out=["order"], where=where).comparison
    (main,) = plain.of(plain.main)
    assert main.shown
    assert main.difference < 0.0
    assert len(found.powers) == len(found.traces) == 8


def test_names_that_hold_no_runs_are_refused(where: str, reader: FakeReader) -> None:
    tasks.new_trial("empty", author="Kim", where=where)
    with pytest.raises(TrialError, match="no runs there"):
        compare_named(["nothing", "known"], where=where)
    with pytest.raises(TrialError, match="at least two"):
        compare_named(["empty"], where=where)
    with pytest.raises(NotebookError):
        compare_named(["nothing"], where=str(where) + ".none")
    with pytest.raises(TrialError, match="nothing to set"):
        tasks.set_trial("empty", where=where)


def test_positions_alone_give_speed_pulls_and_times(where: str, reader: FakeReader, tmp_path: Path) -> None:
    """The same drive, known only by where it was, to a centimetre, ten times a second."""
    known = recording("p.gpx", 2, 1.0, 5, sd=0.0)
    speed = known.channels["speed_m_s"]
    way = np.concatenate([[0.0], np.cumsum(0.5 * (speed.values[1:] + speed.values[:-1]) * np.diff(speed.time_s))])
    metres_per_degree = leg(52.0, 5.0, 52.001, 5.0)[0] / 0.001
    latitude = Channel(speed.time_s, 52.0 + way / metres_per_degree, "deg")
    longitude = Channel(speed.time_s, np.full(len(speed), 5.0), "deg")
    reader.files["p"] = Recording("p.gpx", "made up", None, {"latitude_deg": latitude, "longitude_deg": longitude})
    tasks.new_trial("day", gates=["25 to 60 km/h"], author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "p.gpx"), author="Kim", where=where)
    shown = tasks.show_trial("day", where=where)
    assert shown.state.files[0].data["speed_from"].startswith("positions")
    _, v = Truth().accelerate(5.0, 9.0)
    true = float(np.interp(60 / 3.6, v, np.arange(v.size) * 1e-3) - np.interp(25 / 3.6, v, np.arange(v.size) * 1e-3))
    times = [run.measures["25 to 60 km/h"].value for run in shown.measured.runs]
    assert len(times) == 2
    assert times == pytest.approx([true, true], rel=0.03)


def test_a_recording_that_says_no_speed_is_refused_with_what_it_holds(
    where: str, reader: FakeReader, tmp_path: Path
) -> None:
    t = np.arange(0.0, 20.0, 0.1)
    reader.files["sound"] = Recording("sound.wav", "made up", None, {"rpm": Channel(t, 4000.0 + 200.0 * t, "rpm")})
    tasks.new_trial("loose", author="Kim", where=where)
    (added,) = tasks.add_files("loose", files(tmp_path, "sound.wav"), author="Kim", where=where)
    assert "sound.wav holds rpm" in added.why_not
    assert "--build" in added.why_not
    notebook_tasks.keep_record(KART, build="kart", author="Kim", where=where)
    tasks.new_trial("kart day", build="kart", author="Kim", where=where)
    (added,) = tasks.add_files("kart day", files(tmp_path, "sound.wav"), author="Kim", where=where)
    assert (added.why_not, added.runs) == ("", 1)
    assert reader.options[-1].sound.metres_per_turn == pytest.approx(0.852 / 5.9)


def test_the_same_file_twice_is_no_second_proof(where: str, reader: FakeReader, tmp_path: Path) -> None:
    """Under whatever name; but it may come again once nothing of it counts any more."""
    tasks.new_trial("day", author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "stock.gpx", "times.csv"), author="Kim", where=where)
    for name in ("stock.gpx", "times.csv"):
        other = tmp_path / f"copy of {name}"
        other.write_bytes((tmp_path / name).read_bytes())
        reader.files[other.stem] = reader.files[other.stem.removeprefix("copy of ")]
        (again,) = tasks.add_files("day", [other], author="Kim", where=where)
        assert again.why_not.startswith(f"copy of {name} is here already, to the byte: {name}, file ")
    assert len(tasks.show_trial("day", where=where).state.files) == 2
    for pull in ("1.1", "1.2", "1.3", "1.4"):
        tasks.edit_pull("day", pull, "leave-out", "came in the wrong way round", author="Kim", where=where)
    (better,) = tasks.add_files("day", files(tmp_path, "stock.gpx"), direction="out", author="Kim", where=where)
    assert better.why_not == ""


def test_whatever_came_in_last_is_taken_back_and_brought_back(where: str, reader: FakeReader, tmp_path: Path) -> None:
    tasks.new_trial("day", author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "stock.gpx"), setup="wrong", author="Kim", where=where)
    assert turn_last("day", author="Kim", where=where) == "stock.gpx added"
    assert tasks.show_trial("day", where=where).state.files == []
    assert turn_last("day", back=True, author="Kim", where=where) == "stock.gpx added"
    turn_last("day", author="Kim", where=where)
    tasks.add_files("day", files(tmp_path, "stock.gpx"), setup="stock", author="Kim", where=where)
    assert {run.setup for run in tasks.show_trial("day", where=where).measured.runs} == {"stock"}
    turn_last("day", author="Kim", where=where)
    with pytest.raises(TrialError, match="nothing to take back in day"):
        turn_last("day", author="Kim", where=where)


def test_wheels_without_a_tyre_size_are_refused_before_a_trial_is_begun(where: str, tmp_path: Path) -> None:
    """Kept, they would be refused at every look at the trial."""
    bare = tmp_path / "bare.toml"
    bare.write_text("\n".join(line for line in KART.read_text().splitlines() if not line.startswith("tyre_")))
    notebook_tasks.keep_record(bare, build="kart", where=where)
    with pytest.raises(TrialError, match="without the tyre's size"):
        tasks.new_trial("day", build="kart", turning="wheels 0.32 kg m2", where=where)
    assert tasks.list_trials(where=where) == []
    tasks.new_trial("day", build="kart", turning="share 4 %", where=where)
    tasks.show_trial("day", where=where)


def test_a_recording_without_a_pull_says_so(where: str, reader: FakeReader, tmp_path: Path) -> None:
    calm = recording("calm.gpx", 1, 1.0, 3)
    speed = calm.channels["speed_m_s"]
    flat = Channel(speed.time_s, 10.0 + 0.0 * speed.values, "m/s")
    reader.files["calm"] = replace(calm, channels={"speed_m_s": flat})
    tasks.new_trial("day", author="Kim", where=where)
    (added,) = tasks.add_files("day", files(tmp_path, "calm.gpx"), author="Kim", where=where)
    assert added.runs == 0
    assert "no pull was found" in added.notes[-1]
