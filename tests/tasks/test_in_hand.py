"""Record and plan come out of the work in hand as they went in."""

import pytest

from scribeline.engine import read_record
from scribeline.errors import PlanError
from scribeline.plan.plan_file import read_plan, read_plan_file
from scribeline.tasks.in_hand import plan_toml, record_document, record_toml, steps_document
from tests.examples import FOLDER, KART, edited
from tests.tasks.at_hand import document


def test_the_record_is_the_one_that_was_put_in() -> None:
    assert read_record(record_toml(document())) == edited(name=KART)
    assert read_record(record_toml({"record": record_document(edited(name=KART))})) == edited(name=KART)


def test_the_plan_is_the_one_that_was_put_in_without_what_the_page_keeps_beside_it() -> None:
    work = document()
    work["plan"] |= {"goal": "most", "chosen": {"seed": 1}}
    plan = read_plan_file(FOLDER / f"{KART}-plan.toml")
    assert read_plan(plan_toml(work)) == plan
    assert steps_document(plan) == work["plan"]["steps"]


def test_no_step_is_no_plan() -> None:
    assert plan_toml({"plan": {"steps": [], "goal": "most"}}) == ""
    assert plan_toml({}) == ""


def test_what_was_taken_out_again_is_left_out() -> None:
    work = document()
    work["record"]["cylinder"]["deck_height_mm"] = None
    assert read_record(record_toml(work)).cylinder.deck_height_mm is None


def test_what_no_plan_file_holds_is_refused() -> None:
    with pytest.raises(PlanError, match="what to do: open the plan"):
        plan_toml({"plan": {"steps": [{"do": object()}]}})
