"""One revolution opened up for the plan page: which speed it begins with, what is kept, refusals and a stop."""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from scribeline.errors import CycleError, TypedValueError
from scribeline.plan.phrases import read_step
from scribeline.plan.steps import Plan
from scribeline.tasks.plan_inside import STATE_HEADS, inside, inside_rpm, speed_typed
from scribeline.tasks.plan_kept import kept
from tests.examples import edited

RECORD = edited()
ROOF = Plan((read_step("raise exhaust roof at exhaust: 1 mm"),))


def looked_into(place: Path, plan: Plan) -> dict[str, Any]:
    told: list[Mapping[str, Any]] = []
    document = inside(place, "this plan", RECORD, plan, 9000.0, tell=told.append, stopped=lambda: False)
    assert document is not None
    assert document == kept(place, "inside")
    assert told[-1] == {"kept": "inside"}
    return document


def test_both_engines_are_opened_up_and_drawn_over_each_other(tmp_path: Path) -> None:
    document = looked_into(tmp_path, ROOF)
    titles = [one["title"] for one in document["drawings"]["mm"]]
    assert titles == [
        "Through one turn at 9000 rev/min: full lines after the plan, broken lines as it is",
        "Pressure along the exhaust pipe against time at 9000 rev/min, as it is",
        "Pressure along the exhaust pipe against time at 9000 rev/min, after the plan",
        "Through one turn at 9000 rev/min, as it is",
        "Through one turn at 9000 rev/min, after the plan",
    ]
    assert len({one["svg"].split("-title")[0] for one in document["drawings"]["mm"]}) == len(titles)  # their ids
    before, after = document["states"]["as it is"], document["states"]["after the plan"]
    assert {len(row) for row in (*before, *after)} == {len(STATE_HEADS)}
    # the exhaust is open for 179.5 degrees of the reference engine, half of them before bottom dead centre
    assert opens(before) == pytest.approx(180.0 - 179.5 / 2.0, abs=0.1)
    assert opens(after) < opens(before) - 0.5  # a higher roof opens sooner
    said = [row[0].partition(",")[0] for row in before]
    assert said == ["exhaust opens", "transfers open", "transfers close", "exhaust closes"]
    assert document["heads"] == ["", "as it is", "after the plan"]


def opens(rows: list[list[str]]) -> float:
    """Crank angle at which the exhaust opens, of the states at every event."""
    return float(rows[0][0].rpartition(" ")[2].rstrip("°"))


def test_waves_side_by_side_begin_at_one_angle(tmp_path: Path) -> None:
    """A roof so much higher that the exhaust opens before 90 degrees, where it opens after as it is."""
    before, after = (one["svg"] for one in looked_into(tmp_path, ROOF)["drawings"]["mm"][1:3])
    times = [re.findall(r">(\d+°  [\d.]+ ms)<", svg) for svg in (before, after)]
    assert times[0] == times[1]
    assert times[0][0] == "90°  0.5 ms"


def test_without_a_plan_there_is_one_engine_in_the_units_that_are_asked_for(tmp_path: Path) -> None:
    document = looked_into(tmp_path, Plan(()))
    assert [len(drawings) for drawings in document["drawings"].values()] == [2, 2]
    assert "mm along the pipe" in document["drawings"]["mm"][0]["svg"]
    assert "in along the pipe" in document["drawings"]["inch"][0]["svg"]
    assert " mm" not in document["drawings"]["inch"][0]["svg"].partition("</desc>")[0].partition("<desc")[2]


def test_it_begins_with_the_speed_of_most_power_else_the_middle_of_the_goal() -> None:
    curve = {"speeds": [8000.0, 8500.0, 9000.0], "after": [9.1, 9.4, None]}
    assert inside_rpm(curve, "6000:7000", RECORD) == 8500.0
    assert inside_rpm(None, "6000:7000", RECORD) == 6500.0
    assert inside_rpm({**curve, "after": [None] * 3}, "6000:7000", RECORD) == 6500.0
    assert speed_typed(f"{inside_rpm(None, '', RECORD):g}") == pytest.approx(RECORD.speed_rpm, rel=0.1)


def test_a_speed_that_no_engine_is_simulated_at_is_refused() -> None:
    assert (speed_typed("500"), speed_typed("30000")) == (500.0, 30000.0)
    for typed in ("499", "30001"):
        with pytest.raises(CycleError, match="accepted: 500 to 30000 rev/min"):
            speed_typed(typed)
    with pytest.raises(TypedValueError, match="there is no number"):
        speed_typed("")


def test_an_engine_without_a_sound_end_is_named(tmp_path: Path) -> None:
    """At 28000 rev/min this one does not settle, and its reason is handed on."""
    with pytest.raises(CycleError, match="the engine as it is cannot be looked into at 28000 rev/min"):
        inside(tmp_path, "", RECORD, Plan(()), 28000.0, tell=lambda _: None, stopped=lambda: False)
    assert kept(tmp_path, "inside") is None


def test_what_is_stopped_keeps_what_was_there_before(tmp_path: Path) -> None:
    before = looked_into(tmp_path, Plan(()))
    assert inside(tmp_path, "", RECORD, ROOF, 8000.0, tell=lambda _: None, stopped=lambda: True) is None
    assert kept(tmp_path, "inside") == before
