"""The rest of a plan from the engine as it was measured: the same edges, widths and squish, from where the metal is."""

import pytest

from scribeline.errors import PlanError
from scribeline.plan.carry_out import carry_out
from scribeline.plan.edges import edge_depths_mm
from scribeline.plan.from_here import rest_of
from scribeline.plan.phrases import read_step
from scribeline.plan.what_if import what_if
from tests.plan.engines import edited, one, value
from tests.plan.test_what_if import plan

STEPS = (
    "deck barrel top: 0.3 mm",
    "face head: 0.3 mm",
    "raise exhaust roof at exhaust: 1.2 mm",
    "raise transfer roof at all transfers: 0.6 mm",
    "widen exhaust at exhaust: 1.5 mm",
    "trim skirt at intake side: 1 mm",
)
DONE = what_if(edited(), plan(*STEPS))


def test_an_engine_that_came_out_as_expected_keeps_its_plan() -> None:
    for after in range(len(STEPS) + 1):
        rest = rest_of(DONE, after, DONE.records[after])
        assert rest.plan.steps == DONE.steps[after:]
        assert rest.notes == ()


def test_a_face_cut_too_far_leaves_less_for_the_next() -> None:
    """0.12 mm too much off the barrel: 0.18 of 0.3 are left for the head, and the ports end at the same timing."""
    measured = one("deck barrel top: 0.42 mm")
    rest = rest_of(DONE, 1, measured)
    assert rest.plan.steps[0].amount == pytest.approx(0.18)
    assert "now face head: 0.18 mm" in rest.notes[0]
    end = carry_out(measured, rest.plan.steps)
    assert value(end, "squish_gap_mm") == pytest.approx(value(DONE.after.record, "squish_gap_mm"))
    assert edge_depths_mm(end) == pytest.approx(edge_depths_mm(DONE.after.record))


def test_a_roof_already_cut_in_part_is_cut_the_rest_of_the_way() -> None:
    """The transfers stand unlike each other: 0.25 mm done on the main one, nothing on the rear."""
    measured = carry_out(DONE.records[3], [read_step("raise transfer roof at main transfer: 0.25 mm")])
    rest = rest_of(DONE, 3, measured)
    left = {step.at: step.amount for step in rest.plan.steps if step.do == "raise transfer roof"}
    assert left == pytest.approx({"main transfer": 0.35, "rear transfer": 0.6})


def test_a_floor_already_cut_in_part_is_cut_the_rest_of_the_way() -> None:
    done = what_if(edited(), plan("lower exhaust floor at exhaust: 0.9 mm", "lower intake floor at intake: 1 mm"))
    rest = rest_of(done, 0, one("lower exhaust floor at exhaust: 0.3 mm"))
    assert [step.amount for step in rest.plan.steps] == pytest.approx([0.6, 1.0])


def test_an_edge_that_is_there_is_left_alone() -> None:
    measured = carry_out(DONE.records[2], [read_step("raise exhaust roof at exhaust: 1.16 mm")])
    rest = rest_of(DONE, 2, measured)
    assert rest.plan.steps[0].do == "raise transfer roof"
    assert "the roof of exhaust is there already" in rest.notes[0]


@pytest.mark.parametrize(
    ("after", "step", "said"),
    [
        (2, "raise exhaust roof at exhaust: 1.5 mm", "the roof of exhaust is 0.3 mm past its target"),
        (4, "widen exhaust at exhaust: 1.7 mm", "the width of exhaust is 0.2 mm past its target"),
        (5, "trim skirt at intake side: 1.4 mm", "the skirt on the intake side is 0.4 mm past its target"),
        (1, "deck barrel top: 0.6 mm", "the squish is 0.3 mm past its target"),
    ],
)
def test_where_metal_would_have_to_come_back_the_plan_is_refused(after: int, step: str, said: str) -> None:
    with pytest.raises(PlanError) as refused:
        rest_of(DONE, after, carry_out(DONE.records[after], [read_step(step)]))
    (problem,) = refused.value.problems
    assert problem.value == said
    assert "metal does not grow back; instead:" in problem.remedy


def test_two_cuts_of_one_edge_share_what_is_left() -> None:
    done = what_if(edited(), plan("raise exhaust roof at exhaust: 0.8 mm", "raise exhaust roof at exhaust: 0.5 mm"))
    rest = rest_of(done, 0, one("raise exhaust roof at exhaust: 0.2 mm"))
    assert [step.amount for step in rest.plan.steps] == pytest.approx([0.6, 0.5])


def test_squish_that_no_step_is_left_for_is_said() -> None:
    rest = rest_of(DONE, 2, one("deck barrel top: 0.2 mm", DONE.records[2]))
    assert rest.notes[-1] == "The squish came out 0.2 mm narrower than the plan meant, and no step is left for it."


def test_a_step_that_the_plan_does_not_have() -> None:
    with pytest.raises(PlanError, match="accepted: 0 to 6"):
        rest_of(DONE, 7, edited())


def test_an_edge_nobody_measured_again_is_asked_for() -> None:
    without = edited().model_copy(update={"ports": tuple(p for p in edited().ports if p.name != "exhaust")})
    with pytest.raises(PlanError, match="the roof of exhaust, measured in any of its ways"):
        rest_of(DONE, 2, without)


@pytest.mark.parametrize(
    ("step", "part", "left"),
    [
        ("square exhaust floor corners at exhaust: 3 mm", "square exhaust floor corners at exhaust: 1 mm", 2.0),
        ("narrow squish band: 2 mm, depth_mm 2", "narrow squish band: 0.5 mm, depth_mm 2", 1.5),
        ("open bowl: 1 cc", "open bowl: 0.4 cc", 0.6),
        ("sink squish band: 0.4 mm", "sink squish band: 0.1 mm", 0.3),
        ("change pipe length at belly: -30 mm", "change pipe length at belly: -10 mm", -20.0),
        ("change tract length at manifold: 20 mm", "change tract length at manifold: 5 mm", 15.0),
        ("change ignition advance: -3 deg", "change ignition advance: -1 deg", -2.0),
    ],
)
def test_work_that_is_half_done_is_done_the_rest_of_the_way(step: str, part: str, left: float) -> None:
    done = what_if(edited(), plan(step))
    (again,) = rest_of(done, 0, one(part)).plan.steps
    assert again.amount == pytest.approx(left, abs=1e-4)


@pytest.mark.parametrize(
    ("step", "part", "name"),
    [
        (
            "add auxiliary exhausts: 6 mm, below_exhaust_mm 3, clock_deg 50, height_mm 8",
            "add auxiliary exhausts: 4 mm, below_exhaust_mm 4, clock_deg 50, height_mm 6", "side exhaust",
        ),
        (
            "cut piston window: 16 mm, clock_deg 180, top_from_crown_mm 30",
            "cut piston window: 12 mm, clock_deg 180, top_from_crown_mm 32", "window",
        ),
    ],
)  # fmt: skip
def test_a_port_or_window_that_is_begun_is_not_made_twice(step: str, part: str, name: str) -> None:
    done = what_if(edited(), plan(step))
    with pytest.raises(PlanError, match=f'"{name}" is there already') as refused:
        rest_of(done, 0, one(part))
    assert "go on with --from-here 1" in refused.value.problems[0].remedy
    assert rest_of(done, 1, one(part)).plan.steps == ()
