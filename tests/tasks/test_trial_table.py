"""Typed times as runs, and what is typed beside a trial."""

import doctest

import pytest

from scribeline.errors import ScribelineError, TrialError
from scribeline.tasks import trial_options, trial_table, trial_typed
from scribeline.tasks.trial_options import read_options
from scribeline.tasks.trial_table import runs_of_table
from scribeline.tasks.trial_typed import air_of, band_of, gates_of
from tests.tasks.trial_files import table


@pytest.mark.parametrize("module", [trial_table, trial_typed, trial_options], ids=lambda m: m.__name__)
def test_examples_in_the_docstrings(module: object) -> None:
    results = doctest.testmod(module)  # type: ignore[arg-type]
    assert results.attempted >= 1
    assert results.failed == 0


def test_rows_of_one_run_become_one_run_with_its_gates() -> None:
    runs, measures = runs_of_table(
        table(("cut", 1, 4.9), ("cut", 1, 2.5, {"to": 40}), ("cut", 2, 4.8), ("stock", 1, 5.1))
    )
    assert [(run.setup, run.name) for run in runs] == [("cut", "1"), ("cut", "2"), ("stock", "1")]
    assert [one.key for one in measures] == ["25 to 50 km/h", "25 to 40 km/h", "mean acceleration, 25 to 50 km/h"]
    assert runs[0].measures["25 to 40 km/h"].value == 2.5
    assert runs[0].measures["25 to 50 km/h"].step == pytest.approx(0.1)
    assert runs[0].measures["mean acceleration, 25 to 50 km/h"].value == pytest.approx(25 / 3.6 / 4.9)
    assert "25 to 40 km/h" not in runs[1].measures


def test_a_table_without_run_numbers_counts_for_itself() -> None:
    runs, _ = runs_of_table(table(("cut", "", 4.9), ("cut", "", 2.5, {"to": 40}), ("cut", "", 4.8)), "unused")
    assert [(run.name, len(run.measures)) for run in runs] == [("1", 3), ("2", 2)]
    (alone,), _ = runs_of_table(table(("", 1, 4.9)), "first day")
    assert alone.setup == "first day"


def test_further_columns_are_understood_by_what_they_are_called() -> None:
    (run,), _ = runs_of_table(
        table(
            (
                "cut",
                1,
                4.9,
                {"Order": "7", "day": "Mon", "Pair": "2", "air °C": "18,5", "dropped": "rain", "who": "Kim"},
            )
        )
    )
    assert (run.order, run.day, run.pair, run.dropped) == (7.0, "Mon", "2", "rain")
    assert dict(run.beside) == {"air °C": 18.5}
    (at,), _ = runs_of_table(table(("cut", 1, 4.9, {"time of day": "14:30"})))
    assert dict(at.beside) == {"time of day": 14.5}


def test_a_column_with_a_hole_does_not_go_in_beside() -> None:
    runs, _ = runs_of_table(table(("cut", 1, 4.9, {"air": "18"}), ("cut", 2, 4.8, {"air": ""})))
    assert all(not run.beside for run in runs)


def test_the_same_number_on_two_days_is_two_runs() -> None:
    runs, _ = runs_of_table(
        table(("cut", 1, 4.9, {"day": "Mon"}), ("cut", 1, 4.8, {"day": "Tue"}), ("cut", 1, 4.7, {"direction": "back"}))
    )
    assert [run.name for run in runs] == ["1 Mon", "1 Tue", "1 back"]


def test_a_gate_twice_in_one_run_is_refused() -> None:
    with pytest.raises(TrialError, match=r"line 3: run 1 of cut has 25 to 50 km/h twice"):
        runs_of_table(table(("cut", 1, 4.9), ("cut", 1, 4.8)))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("25", "two speeds"),
        ("25 to 25", "two different"),
        ("a to b", "no number|cannot be read|speed"),
        ("1 to 2 to 3", "two speeds"),
    ],
)
def test_a_gate_that_is_not_clear_is_refused(typed: str, said: str) -> None:
    with pytest.raises(ScribelineError, match=said):
        gates_of([typed])


def test_air_is_read_with_humidity_or_dew_point_or_without() -> None:
    assert air_of("18,5 °C 1003 mbar") == {"t_c": 18.5, "p_hpa": 1003.0}
    assert air_of("-3 C, 98.2 kPa, dew -5 C") == {"t_c": -3.0, "p_hpa": 982.0, "dew_point_c": -5.0}
    for wrong in ("18 C", "1003 hPa", "18 C, 1003 hPa, 160 %", "60 C, 1003 hPa"):
        with pytest.raises(TrialError):
            air_of(wrong)


def test_a_band_is_two_speeds_in_order() -> None:
    assert band_of("6000-9000 rpm") == [6000.0, 9000.0]
    for wrong in ("9000 to 6000", "6000", "fast"):
        with pytest.raises(TrialError, match="500 to 30000"):
            band_of(wrong)


def test_options_of_a_table_are_judged() -> None:
    options = read_options(["t=time s", "x="], ",", "mph")
    assert dict(options.columns) == {"t": "time s", "x": ""}
    assert (options.decimal, options.speed_unit) == (",", "mph")
    for bad in ((["t"], None, None), ([], ";", None), ([], None, "furlongs")):
        with pytest.raises(TrialError):
            read_options(*bad)  # type: ignore[arg-type]
