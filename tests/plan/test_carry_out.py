"""Doing steps: one after the other, in any order where it must not matter, and refused with what is allowed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.engine import readings
from scribeline.errors import PlanError
from scribeline.plan.carry_out import carry_out, possible_for
from scribeline.plan.phrases import read_step
from scribeline.plan.steps import Step
from tests.plan.engines import AT_HAND, REED, edited

COMMUTING = [
    read_step(text)
    for text in (
        "deck barrel top: 0.3 mm", "deck barrel base: 0.2 mm", "raise exhaust roof at exhaust: 1.1 mm",
        "lower intake floor at intake: 0.7 mm", "raise transfer roof at all transfers: 0.4 mm",
        "widen exhaust at exhaust: 1.5 mm", "trim skirt at intake side: 1 mm", "open bowl: 0.3 cc",
        "change pipe length at header: -20 mm", "change ignition advance: -1 deg",
    )
]  # fmt: skip


@settings(max_examples=20, deadline=None)
@given(st.permutations(COMMUTING))
def test_the_engine_at_the_end_does_not_depend_on_the_order(steps: list[Step]) -> None:
    first, other = (
        {r.place: r.measured.value for r in readings(carry_out(edited(), some))} for some in (COMMUTING, steps)
    )
    assert other == pytest.approx(first, abs=1e-6)


@pytest.mark.parametrize(
    ("step", "value", "accepted", "remedy"),
    [
        (Step("polish it"), '"polish it"', "one of: swap base gasket", "choose one"),
        (Step("raise exhaust roof", "boost", 1.0), 'at = "boost"', "one of: exhaust", "say where"),
        (Step("raise exhaust roof", "exhaust"), "nothing", "0 to 10 mm", "say how far the roof goes up"),
        (Step("raise exhaust roof", "exhaust", 11.0), "11", "0 to 10 mm", "choose how far"),
        (Step("raise exhaust roof", "exhaust", -1.0), "-1", "0 to 10 mm", "would have to add metal"),
        (Step("raise exhaust roof", "exhaust", 1.0, "x"), 'choice = "x"', "no choice", "take it out"),
        (
            Step("raise exhaust roof", "exhaust", 1.0, "", (("depth_mm", 1.0),)),
            "1",
            "no further numbers",
            "take it out",
        ),
        (Step("swap pipe", "", None, "long one"), 'choice = "long one"', "one of: short pipe", "choose one, or add"),
        (Step("remove base gasket", "fitted 2"), 'at = "fitted 2"', "one of: fitted 1", "say where"),
        (Step("remove base gasket", "fitted 1", 1.0), "1", "no amount", "take it out"),
        (
            Step("fit other reed block", "", None, "four petals"),
            "this engine",
            "another reed block",
            "does not allow it",
        ),
    ],
)
def test_a_step_that_cannot_be_done_is_refused(step: Step, value: str, accepted: str, remedy: str) -> None:
    with pytest.raises(PlanError) as refused:
        carry_out(edited(), [COMMUTING[0], step], AT_HAND)
    (problem,) = refused.value.problems
    assert problem.where.startswith(f"step 2, {step.do}")
    assert problem.value == value
    assert problem.accepted.startswith(accepted)
    assert remedy in problem.remedy


def test_what_no_engine_can_be_is_refused_as_a_step() -> None:
    """The exhaust's lower corners have a radius of 7 and 6 mm; a roof above the crown cannot be."""
    record = edited(("value = 29.1,", "value = 5.0,"), ("roof_corner_radius_mm = 7.0", "roof_corner_radius_mm = 1.0"))
    with pytest.raises(PlanError, match=r"step 1, raise exhaust roof at exhaust: then ports\.exhaust\.roof"):
        carry_out(record, [Step("raise exhaust roof", "exhaust", 6.0)])


def test_what_is_possible_depends_on_the_engine_and_on_what_is_at_hand() -> None:
    def keys(at_hand: object) -> set[str]:
        return {one.operation.key for one in possible_for(edited(name=REED), at_hand)}  # type: ignore[arg-type]

    assert "fit reed" not in keys(AT_HAND)
    assert {"fit other petals", "swap pipe"} <= keys(AT_HAND)
    assert not {"fit other petals", "swap pipe"} & keys(None)
    assert "trim skirt" in keys(None)
