"""What a builder wants and has, between fields of a page and a plan's document."""

import doctest

import pytest

from scribeline.errors import PlanError, SearchError
from scribeline.plan.plan_file import read_plan
from scribeline.plan.search_goals import goal_of
from scribeline.plan.steps import Plan
from scribeline.tasks import plan_aim as module
from scribeline.tasks.plan_aim import (
    GoalTyped,
    also_with,
    bounds_of,
    box_read,
    count_typed,
    goal_parts,
    limits_with,
    other_parts,
    plan_read,
    sheets_typed,
    tools_with,
    without_part,
)
from scribeline.tasks.plan_found import GOALS, asked, goal_words
from scribeline.tasks.plan_in_hand import plan_in_hand, plan_of_document
from tests.examples import FOLDER, edited

PARTS = (FOLDER / "parts-at-hand.toml").read_bytes()


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("typed", ["most", "pull=11", "top-speed", "8000:10500=12", "8000:10500"])
def test_a_goal_comes_back_from_its_fields(typed: str) -> None:
    parts = goal_parts(typed, edited())
    assert parts.which in GOALS
    least = "" if parts.least is None else f"{parts.least:g}"
    assert GoalTyped(parts.which, f"{parts.first:g}", f"{parts.last:g}", least).typed() == typed


@pytest.mark.parametrize(
    ("which", "first", "last", "least"),
    [("band", "10500", "8000", ""), ("band", "", "", ""), ("most", "", "", "a lot"), ("band", "8000", "99999", "")],
)
def test_fields_that_make_no_goal_are_refused(which: str, first: str, last: str, least: str) -> None:
    with pytest.raises(SearchError, match="what to do: correct the numbers"):
        GoalTyped(which, first, last, least).typed()


def test_a_thousands_comma_in_a_crank_speed_is_none_in_the_goal() -> None:
    assert GoalTyped("band", "8,000", "10 500", "").typed() == "8000:10500"


def test_every_goal_has_words() -> None:
    assert goal_words("") == GOALS["most"]
    assert goal_words("pull=11") == "pull: torque low down, at least 11 Nm"
    assert goal_words("8000:10500=12").endswith("at least 12 kW")
    assert goal_words("moon") == "moon"


def test_a_typed_list_of_sheets_goes_into_the_box() -> None:
    sheets = sheets_typed("base 0.5x2, head 0.8")
    box = plan_of_document({"box": {"gaskets": sheets}}).box
    assert [(one.name, one.fits, one.nominal_mm.value, one.count) for one in box.gaskets] == [
        ("base 0.5", "base", 0.5, 2), ("head 0.8", "head", 0.8, 1)
    ]  # fmt: skip
    for typed in ("0.5", str(FOLDER / "gasket-box.toml")):  # what is typed on a page never names a file
        with pytest.raises(SearchError, match="The list"):
            sheets_typed(typed)


@pytest.mark.parametrize("typed", ["", "0", "13", "-1", "two"])
def test_a_count_that_is_none_is_refused(typed: str) -> None:
    with pytest.raises(PlanError, match="1 to 12"):
        count_typed(typed)


def test_a_file_of_parts_is_added_and_one_part_taken_out_again() -> None:
    box = box_read({"gaskets": sheets_typed("base 0.5")}, PARTS, "parts.toml")
    plan = plan_of_document({"box": box})
    assert [one.name for one in plan.box.gaskets] == ["base 0.5", "thin copper", "thick paper", "spacer"]
    names = [name for _, _, name in other_parts(plan.box)]
    assert names == ["short pipe", "wide stinger", "four petals", "stiff petals", "26 mm"]
    less = plan_of_document({"box": without_part(box, "reeds", 0)}).box
    assert [name for _, _, name in other_parts(less)] == ["short pipe", "wide stinger", "stiff petals", "26 mm"]


@pytest.mark.parametrize("content", [b"\xff\xfe", b"gaskets = 3", b"[[gaskets]]\nname = 'x'"])
def test_a_file_that_is_no_list_of_parts_is_refused(content: bytes) -> None:
    with pytest.raises(PlanError):
        box_read(None, content, "parts.toml")


def test_a_plan_file_is_read_as_the_command_reads_it() -> None:
    content = (FOLDER / "club-kart-98-plan.toml").read_bytes()
    assert plan_read(content, "plan.toml") == read_plan(content.decode())
    with pytest.raises(PlanError, match="scribeline_plan"):
        plan_read(b"x = 1", "plan.toml")


def test_a_limit_is_set_loosened_and_let_go_of() -> None:
    table = limits_with(None, "squish_gap_min_mm", low=0.6)
    table = limits_with(table, "least_land_mm", off=True)
    assert [one.name for one in plan_of_document({"limits": table}).limits.set] == [
        "squish_gap_min_mm",
        "least_land_mm",
    ]
    table = limits_with(limits_with(table, "squish_gap_min_mm", low=None), "least_land_mm", off=False)
    assert table == {"set": []}
    kept = limits_with({"set": [{"name": "least_land_mm", "low": 3.0, "why": "thin sleeve"}]}, "least_land_mm", low=2.5)
    assert kept["set"] == [{"name": "least_land_mm", "low": 2.5, "why": "thin sleeve"}]


def test_every_limit_is_shown_with_the_engines_number_and_what_the_builder_made_of_it() -> None:
    hand = plan_in_hand(edited(), {"limits": {"set": [{"name": "least_land_mm", "off": True}]}})
    rows = {row.name: row for row in bounds_of(hand)}
    assert rows["squish_gap_mm"].now == pytest.approx(1.4275)
    assert rows["squish_gap_mm"].usual == "Usually not above 1 mm"
    assert rows["least_land_mm"].off  # a limit that is off can be switched on again only where it is still shown
    known = [row.now is None for row in rows.values()]
    assert known == sorted(known)
    assert rows["foot_stud_clearance_mm"].label == "passages against the foot's studs"
    assert [row.label for row in rows.values() if "_" in row.label or row.label.endswith((" mm", " rpm"))] == []


def test_tools_and_what_is_kept_are_ticked_one_by_one() -> None:
    plan = Plan(())
    assert tools_with(plan, "lathe", True) == ["file", "glass plate", "lathe", "saw"]
    assert tools_with(plan, "file", False) == ["glass plate", "saw"]
    assert also_with(plan, "knock", True) == ["pull", "knock"]
    assert also_with(plan, "pull", False) == []


def test_what_a_search_is_asked_for_is_refused_before_it_begins() -> None:
    def plan(**wanted: object) -> Plan:
        return plan_of_document({"wanted": wanted})

    assert asked(plan())["goal"] == "most"
    assert asked(plan(goal="pull", tools=["lathe"], also=["knock"])) == {
        "goal": "pull", "tools": ["lathe"], "keep": [], "also": ["knock"]
    }  # fmt: skip
    for wrong in ({"goal": "moon"}, {"tools": ["teeth"]}, {"also": ["noise"]}):
        with pytest.raises(SearchError, match="accepted"):
            asked(plan(**wrong))
    assert goal_of("most").merit == "peak_kw"
