"""Squish and deck before ports, ports before the piston, and so on, with the reason; each stage as it was written."""

from hypothesis import given
from hypothesis import strategies as st

from scribeline.plan.order import in_order, stage_of
from scribeline.plan.steps import Step

DECK, PORT, SKIRT, PIPE, SPARK = (
    Step("deck barrel top", "", 0.3),
    Step("raise exhaust roof", "exhaust", 1.0),
    Step("trim skirt", "intake side", 1.0),
    Step("change pipe length", "header", -10.0),
    Step("change ignition advance", "", -1.0),
)
steps = st.lists(st.sampled_from([DECK, PORT, SKIRT, PIPE, SPARK]), max_size=8)


def test_a_plan_in_order_is_left_alone() -> None:
    assert in_order([DECK, PORT, SKIRT, PIPE, SPARK]) == ((DECK, PORT, SKIRT, PIPE, SPARK), ())


def test_what_is_moved_is_said_with_its_reason() -> None:
    done, (moved,) = in_order([PORT, SPARK, DECK])
    assert done == (DECK, PORT, SPARK)
    assert (moved.step, moved.written, moved.done) == (DECK, 3, 1)
    assert "every port line is drawn from the deck" in moved.why
    assert "before raise exhaust roof at exhaust: 1 mm" in moved.why


@given(steps)
def test_nothing_is_lost_and_each_stage_keeps_its_order(written: list[Step]) -> None:
    done, moved = in_order(written)
    assert sorted(map(stage_of, written)) == [stage_of(step) for step in done]
    assert sorted(map(repr, done)) == sorted(map(repr, written))
    assert bool(moved) == (list(done) != written)


def test_an_unknown_step_stays_last() -> None:
    assert in_order([Step("polish it"), DECK])[0] == (DECK, Step("polish it"))
