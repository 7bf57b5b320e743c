"""Designing and reading a pipe, from the record to the report."""

import math

import pytest

from scribeline.cycle.simulate import CycleResult
from scribeline.errors import CycleError, GeometryError
from scribeline.geometry.pipe_design import PipeLimits, refused
from scribeline.plan.pipe_search import Search, Tried
from scribeline.tasks import pipe as tasks
from scribeline.tasks.pipe import Wanted, design_pipe, formula_with_wave_rpm, read_pipe
from tests.examples import edited
from tests.tasks.pipes import COARSE, designed, first, fitted


def test_pipes_stand_beside_each_other_and_the_last_is_handed_on() -> None:
    report = designed()
    assert [one.name for one in report.candidates] == ["fitted", "first", "refined"]
    assert report.chosen.name == "refined"
    assert report.search is not None
    assert len(report.search.tried) > 10


def test_what_is_handed_on_is_better_at_the_goal_than_the_first_shape() -> None:
    _, rules, refined = designed().candidates
    assert rules.power_w is not None
    assert refined.power_w is not None
    assert refined.power_w > rules.power_w
    assert refined.shape is not None
    assert not refused(refined.shape, PipeLimits())
    assert all(one.length_mm == round(one.length_mm) for one in refined.sections)


def test_the_formula_and_the_simulation_stand_side_by_side() -> None:
    """The published relation by hand: 1000 c E/(12 L), with 1700 ft/s."""
    report = designed()
    for one in report.candidates:
        assert one.tuned_length_mm is not None
        wave = 1700.0 * 0.3048
        assert one.formula_rpm == pytest.approx(
            1000.0 * wave * report.mounting.duration_deg / 12.0 / one.tuned_length_mm
        )
        assert one.tuned is not None
        assert one.tuned.low_rpm < one.tuned.centre_rpm < one.tuned.high_rpm
        assert one.wave_m_s is not None
        # hot exhaust gas: sqrt(gamma R T) with gamma about 1.3 and R about 290 J/(kg K)
        assert one.wave_m_s == pytest.approx(math.sqrt(1.3 * 290.0 * one.tuned.pipe_k), rel=0.03)
        ratio = formula_with_wave_rpm(one, report.mounting)
        assert ratio == pytest.approx(one.formula_rpm * one.wave_m_s / wave)


def test_the_longer_pipe_works_at_a_lower_speed_in_the_simulation_too() -> None:
    fit, rules, _ = designed().candidates
    assert fit.tuned is not None
    assert rules.tuned is not None
    assert rules.tuned_length_mm > fit.tuned_length_mm  # type: ignore[operator]
    assert rules.tuned.centre_rpm < fit.tuned.centre_rpm


def test_every_curve_has_a_result_or_a_reason_for_each_speed() -> None:
    report = designed()
    for one in report.candidates:
        assert len(one.results) == len(report.speeds_rpm)
        assert all(isinstance(result, CycleResult | CycleError) for result in one.results)


def test_by_the_rules_alone_nothing_is_simulated() -> None:
    report = first()
    assert [one.name for one in report.candidates] == ["fitted", "first"]
    assert (report.build, report.search, report.chosen.tuned) == (None, None, None)
    assert report.chosen.formula_rpm == pytest.approx(9000.0, rel=0.003)  # the sections are rounded


def test_the_fitted_pipe_is_read() -> None:
    report = fitted()
    (one,) = report.candidates
    assert one.tuned_length_mm == 747.5
    assert one.tuned is not None
    assert report.wanted is None
    assert report.warnings == ()


def test_the_stinger_keeps_the_larger_published_diameter_and_says_why() -> None:
    report = first()
    assert report.chosen.sections[-1].end_mm / report.chosen.sections[0].start_mm >= 0.61
    assert any("start large" in remark for remark in report.remarks)


def test_a_stinger_below_the_published_range_warns() -> None:
    report = design_pipe(edited(), Wanted(9000.0, stinger_least_mm=17.0, stinger_most_mm=18.0, first_only=True))
    (warning,) = report.warnings
    assert "can hole the piston" in warning.message
    assert report.chosen.sections[-1].end_mm == 18.0


def test_limits_are_the_builders() -> None:
    wanted = Wanted(
        9000.0, longest_mm=1120.0, widest_outside_mm=80.0, sheet_mm=1.0, stinger_length_mm=180.0, first_only=True
    )
    sections = design_pipe(edited(), wanted).chosen.sections
    assert max(one.end_mm for one in sections) <= 78.0
    assert sections[-1].length_mm == 180.0
    assert sum(one.length_mm for one in sections) <= 1120.0
    with pytest.raises(GeometryError, match="at most 700 mm fit"):
        design_pipe(edited(), Wanted(9000.0, longest_mm=700.0, first_only=True))
    with pytest.raises(GeometryError, match="exchange the two"):
        design_pipe(edited(), Wanted(9000.0, stinger_least_mm=22.0, stinger_most_mm=18.0, first_only=True))


def test_where_the_first_shape_is_too_long_the_search_begins_from_a_shorter_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(tasks, "SWEEP", tasks.SWEEP[::5])
    monkeypatch.setattr(
        tasks, "refine", lambda engine_with, start, limits, goal, **_: Search(goal, [Tried(start, 1.0)])
    )
    report = design_pipe(edited(), Wanted(9000.0, longest_mm=1100.0), fine=COARSE)
    assert sum(one.length_mm for one in report.chosen.sections) <= 1100.0
    assert any("too long for the room" in remark for remark in report.remarks)
    assert any("nothing that is better" in remark for remark in report.remarks)


def test_without_a_passage_the_report_says_what_that_does() -> None:
    report = design_pipe(edited(("passage_length_mm = 45\n", "")), Wanted(9000.0, first_only=True))
    assert any("counts as 0" in remark for remark in report.remarks)
    assert not report.mounting.passage_known


def test_a_record_without_a_pipe_can_have_one_designed_but_not_read() -> None:
    bare = edited().model_copy(update={"exhaust": None})
    with pytest.raises(GeometryError, match="no exhaust pipe in the record"):
        read_pipe(bare)
    report = design_pipe(bare, Wanted(9000.0, first_only=True))
    assert [one.name for one in report.candidates] == ["first"]


def test_cautions_of_pipes_come_with_it() -> None:
    assert {"welding", "hearing", "knock-seizure", "road-law"} <= {one.key for one in first().cautions}
