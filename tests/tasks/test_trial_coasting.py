"""Roll-outs in a trial: against the truth that the invented ones were made from, and what taking them over does."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from scribeline.errors import TrialError
from scribeline.recordings.invented import invent_day
from scribeline.tasks.notebook import keep_record
from scribeline.tasks.trial_coasting import coast_of_trial, may_be_roll_outs, take_over
from scribeline.tasks.trial_undo import turn_last
from scribeline.tasks.trials import add_files, new_trial, set_trial, show_trial
from tests.examples import KART, path_of, text_of

G_M_S2 = 9.80665


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The files of the invented day."""
    folder = tmp_path_factory.mktemp("day")
    invent_day(folder)
    return folder


@pytest.fixture(scope="module")
def where(day: Path) -> Path:
    """A notebook with a trial of the kart, its roll-outs as files 1 and 2, and a table of times as file 3."""
    notebook = day / "notebook.sqlite"
    keep_record(path_of(KART), build="kart", author="tests", where=notebook)
    new_trial("Saturday", build="kart", author="tests", where=notebook)
    for name in (day / "rolling-out.csv", day / "rolling-back.csv", Path("examples/gate-times.csv")):
        (added,) = add_files("Saturday", [name], author="tests", where=notebook)
        assert not added.why_not
    return notebook


def truth(day: Path) -> dict[str, Any]:
    known = tomllib.loads((day / "truth.toml").read_text())
    assert known["invented"] is True
    return known["vehicle"]  # type: ignore[no-any-return]


def test_what_was_found_is_the_truth_and_holds_the_trials_vehicle_back(day: Path, where: Path) -> None:
    now, known = show_trial("Saturday", where=where), truth(day)
    assert list(may_be_roll_outs(now).values()) == ["1 rolling-out.csv", "2 rolling-back.csv"]
    found = coast_of_trial("Saturday", [1], [2], where)
    assert found.held_back is not None
    assert found.remarks == ()
    assert "standard: the air is not said" in " ".join(found.grounds)
    assert [one.split(", at")[0] for one in found.grounds[:2]] == [
        "rolling-out.csv: 5 roll-outs", "rolling-back.csv: 5 roll-outs"
    ]  # fmt: skip
    rolling, rolling_pm = found.held_back.rolling_resistance
    drag, drag_pm = found.held_back.drag_area_m2
    assert abs(rolling - known["rolling_n"] / (known["mass_with_rider_kg"] * G_M_S2)) <= rolling_pm
    assert abs(drag - 2.0 * known["air_n_s2_m2"] / 1.225) <= drag_pm
    # 3 ± 1.5 % for what turns is in the +/-, so it cannot be smaller than that
    assert 0.015 / 1.03 < rolling_pm / rolling < 0.03
    assert now.vehicle is not None
    assert any(one.startswith("vehicle.drag_area_m2") for one in now.vehicle.assumed)
    take_over("Saturday", found.held_back, author="tests", where=where)
    after = show_trial("Saturday", where=where)
    assert after.vehicle is not None
    assert (after.vehicle.rolling, after.vehicle.drag_area_m2) == pytest.approx((rolling, drag), rel=1e-3)
    assert after.vehicle.load_pm_share < 0.1 * now.vehicle.load_pm_share
    assert not any("drag_area" in one or "rolling_resistance" in one for one in after.vehicle.assumed)
    assert turn_last("Saturday", author="tests", where=where) == "rolling and drag taken over"
    again = show_trial("Saturday", where=where)
    assert again.vehicle == now.vehicle


@pytest.mark.parametrize(("out", "back"), [([], []), ([1], [1]), ([3], [1]), ([1], [9])])
def test_recordings_that_cannot_be_roll_outs_are_refused(where: Path, out: list[int], back: list[int]) -> None:
    with pytest.raises(TrialError, match="each of 1, 2 once"):
        coast_of_trial("Saturday", out, back, where)


def test_one_way_is_said_and_without_a_mass_nothing_comes_out(day: Path, where: Path, tmp_path: Path) -> None:
    assert "one way only" in coast_of_trial("Saturday", [1], [], where).remarks[0]
    record, notebook = tmp_path / "kart.toml", tmp_path / "notebook.sqlite"
    record.write_text(
        "".join(line for line in text_of(KART).splitlines(keepends=True) if not line.startswith("mass_with_rider"))
    )
    keep_record(record, build="kart", author="tests", where=notebook)
    new_trial("Saturday", build="kart", author="tests", where=notebook)
    add_files("Saturday", [day / "rolling-out.csv"], author="tests", where=notebook)
    with pytest.raises(TrialError, match="weigh it with rider"):
        coast_of_trial("Saturday", [1], [], notebook)
    # what the vehicle cannot have is refused when it is told, not kept and refused at every look
    with pytest.raises(TrialError, match="inertia of the wheels without"):
        set_trial("Saturday", turning="wheels 0.3 kg m2", author="tests", where=notebook)
    assert show_trial("Saturday", where=notebook).state.turning is None
