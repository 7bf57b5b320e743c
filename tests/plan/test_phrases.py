"""A step in one line: read back as it was written, and refused with what would be accepted."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.errors import PlanError
from scribeline.plan.operations import all_operations
from scribeline.plan.phrases import read_step, shown
from scribeline.plan.steps import Step


@st.composite
def steps(draw: st.DrawFn) -> Step:
    operation = draw(st.sampled_from(all_operations()))
    number = st.floats(-900.0, 900.0).map(lambda value: round(value, 4) + 0.0)
    amount = draw(number) if operation.amount else None
    choice = draw(st.sampled_from(["", "no gasket", "fitted 1 + thin, 0.2"])) if operation.choices else ""
    details = {one.key: draw(number) for one in operation.details if draw(st.booleans())}
    return Step(operation.key, draw(st.sampled_from(["", "exhaust", "main transfer"])), amount, choice,
                tuple(sorted(details.items())))  # fmt: skip


@given(steps())
def test_what_is_shown_reads_back(step: Step) -> None:
    assert read_step(shown(step)) == step


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("raise exhaust roof at exhaust: 1.2", 1.2),
        ("raise exhaust roof at exhaust: 1,25 mm", 1.25),
        ("raise exhaust roof at exhaust: 1/32 in", 0.79375),
        ("raise exhaust roof at exhaust: 47 thou", 1.1938),
    ],
)
def test_a_length_may_be_typed_in_any_unit(text: str, amount: float) -> None:
    assert read_step(text) == Step("raise exhaust roof", "exhaust", amount)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("rise exhaust roof at exhaust: 1", "did you mean raise exhaust roof?"),
        ("raise exhaust roof at exhaust: 1 cc", "up_mm: 0 to 10 mm"),
        ("raise exhaust roof at exhaust: 1,2,3 mm", "up_mm: 0 to 10 mm"),
        ("raise exhaust roof at exhaust: 1 mm, 2 mm", "take out: 2 mm"),
        ("deck barrel topping: 1", "did you mean deck barrel top?"),
        ("", "see what can be done with --can"),
    ],
)
def test_what_could_be_misread_is_refused(text: str, said: str) -> None:
    with pytest.raises(PlanError) as refused:
        read_step(text)
    assert said in str(refused.value)
