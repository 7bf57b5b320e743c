"""What can be added to a plan: every operation once, begun so that nothing changes yet."""

from collections import Counter

import pytest

from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import work_out
from scribeline.plan.box import Box, read_box_file
from scribeline.plan.carry_out import carry_out
from scribeline.plan.operations import BY_KEY, all_operations
from scribeline.plan.plan_file import step_of_table
from scribeline.plan.what_if import what_moved
from scribeline.tasks.plan_adding import beginning, detail_slider, groups_of, slider_of
from scribeline.tasks.plan_drawings import operation_picture
from tests.examples import FOLDER, REED, edited

AT_HAND = read_box_file(FOLDER / "parts-at-hand.toml")
ENGINES = (edited(), edited(name=REED))
# What has to be drawn, or fitted, to be anything at all.
NEW = {"add auxiliary exhausts", "open boost port", "cut piston window", "remove base gasket", "fit reed",
       "fit other reed block", "fit other petals", "fit other carburettor", "swap pipe section",
       "swap pipe"}  # fmt: skip
# Absolute settings that the records leave open, so that a usual value stands in for nothing.
SET = {"change mixture", "change fuel", "change oil in petrol"}


@pytest.mark.parametrize("engine", ENGINES, ids=lambda engine: engine.name)
def test_every_operation_stands_in_one_group(engine: EngineRecord) -> None:
    groups = groups_of(engine, AT_HAND)
    counted = Counter(one.operation.key for group in groups for one in group.operations)
    assert counted == Counter(list(BY_KEY))
    assert all(bool(one.targets) != bool(one.why_not) for group in groups for one in group.operations)


@pytest.mark.parametrize("engine", ENGINES, ids=lambda engine: engine.name)
def test_a_step_begins_as_one_that_can_be_done_and_changes_nothing(engine: EngineRecord) -> None:
    for group in groups_of(engine, AT_HAND):
        for one in group.operations:
            if not one.targets:
                continue
            step, problems = step_of_table(beginning(engine, AT_HAND, one.operation.key), 0)
            assert problems == []
            assert step is not None
            after = carry_out(engine, [step], AT_HAND)
            if one.operation.key not in NEW | SET:
                assert what_moved(work_out(engine, draws=0), work_out(after, draws=0)) == (), one.operation.key


def test_a_box_with_nothing_in_it_says_why_nothing_can_be_fitted() -> None:
    why = {one.operation.key: one.why_not for group in groups_of(ENGINES[0], Box()) for one in group.operations}
    assert "parts at hand" in why["fit reed"]
    assert why["swap head gasket"] == ""


def test_a_slider_reaches_as_far_as_anybody_means_to_go_and_further_where_the_amount_does() -> None:
    operation = BY_KEY["raise exhaust roof"]
    amount = operation.amount
    assert amount is not None
    slider = slider_of(operation, amount, 0.0)
    assert (slider.low, slider.high, slider.step, slider.most) == (0.0, 3.0, 0.1, 10.0)
    assert slider_of(operation, amount, 4.25).high >= 4.25
    assert slider_of(operation, amount, 99.0).high == 3.0  # refused, and not followed
    for one in all_operations():
        if one.amount is not None:
            slider = slider_of(one, one.amount, None)
            assert one.amount.low <= slider.low < slider.high <= one.amount.high + slider.step
        for detail in one.details:
            assert detail_slider(detail).low == detail.low


def test_the_same_operation_twice_has_two_drawings() -> None:
    first, second = (operation_picture("face head", place) for place in (0, 1))
    assert first.name != second.name
    assert f'id="{second.name}-title"' in second.svg
