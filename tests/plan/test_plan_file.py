"""A plan as a file: read back as it was written, and refused with every line that is wrong."""

from pathlib import Path

import pytest
from hypothesis import given, settings

from scribeline.errors import PlanError
from scribeline.plan.box import read_box, read_box_file
from scribeline.plan.limit_table import LimitTable, OneLimit, read_limits
from scribeline.plan.plan_file import read_plan, read_plan_file, write_plan
from scribeline.plan.steps import Plan, Step
from tests.plan.engines import AT_HAND
from tests.plan.test_phrases import steps

SOUND = """\
scribeline_plan = 1
name = "Squish first"

[[steps]]
do = "deck barrel top"
off_mm = 0.4

[[steps]]
do = "raise transfer roof"
at = "all transfers"
up_mm = 0.4
roof_angle_deg = 12

[limits]
set = [{ name = "squish_gap_min_mm", low = 0.6, why = "cast rod" }]

[box]
gaskets = [{ name = "thin", fits = "head", nominal_mm = 0.3 }]
"""


def test_a_plan_is_what_its_file_says() -> None:
    plan = read_plan(SOUND)
    assert plan.steps == (
        Step("deck barrel top", "", 0.4),
        Step("raise transfer roof", "all transfers", 0.4, "", (("roof_angle_deg", 12.0),)),
    )
    assert plan.name == "Squish first"
    assert plan.limits.set == (OneLimit(name="squish_gap_min_mm", low=0.6, why="cast rod"),)
    assert plan.box.gaskets[0].nominal_mm.value == 0.3
    assert len({plan, read_plan(SOUND)}) == 1


@settings(max_examples=40)
@given(steps())
def test_what_is_written_reads_back(step: Step) -> None:
    table = LimitTable(set=(OneLimit(name="least_land_mm", off=True, why="sleeved"),))
    plan = Plan((step, step), AT_HAND, "a plan", "and a note", table, invented=True)
    assert read_plan(write_plan(plan)) == plan


@pytest.mark.parametrize(
    ("edit", "line", "where", "value", "accepted", "remedy"),
    [
        (("off_mm = 0.4", "of_mm = 0.4"), 6, "steps.1.of_mm", "0.4", "one of: do, at, choice, off_mm", "off_mm?"),
        (("off_mm = 0.4", 'off_mm = "0.4"'), 6, "steps.1.off_mm", '"0.4"', "a number, 0 to 3 mm", "without quotation"),
        (("off_mm = 0.4", "off_mm = nan"), 6, "steps.1.off_mm", "nan", "a number, 0 to 3 mm", "without quotation"),
        (("off_mm = 0.4", "off_mm = true"), 6, "steps.1.off_mm", "true", "a number, 0 to 3 mm", "without quotation"),
        (
            ("deck barrel top", "deck barel top"),
            5,
            "steps.1.do",
            '"deck barel top"',
            "one of: swap base gasket",
            "top?",
        ),
        (('at = "all transfers"', "at = 3"), 10, "steps.2.at", "3", "text in quotation marks", "write a name"),
        (("low = 0.6", "low = []"), 15, "limits.set.squish_gap_min_mm.low", "[]", "a number", "correct the value"),
        (
            ('fits = "head"', 'fits = "roof"'),
            18,
            "box.gaskets.thin.fits",
            '"roof"',
            '"base", "head", "both"',
            "correct",
        ),
        (("scribeline_plan = 1", "scribeline_plan = 2"), 1, "scribeline_plan", "2", "1", "write scribeline_plan = 1"),
        (("[box]", "[bix]"), 17, "bix", "{'gaskets'", "one of: scribeline_plan, name", "did you mean box?"),
        (('name = "Squish first"', "invented = 1"), 2, "invented", "1", "true or false", "without quotation"),
        (('"Squish first"', "3"), 2, "name", "3", "text", "put it in quotation marks"),
    ],
)
def test_what_is_wrong_is_refused_with_its_line(
    edit: tuple[str, str], line: int, where: str, value: str, accepted: str, remedy: str
) -> None:
    with pytest.raises(PlanError) as refused:
        read_plan(SOUND.replace(*edit), "my plan")
    (problem,) = refused.value.problems
    assert (problem.line, problem.where) == (line, where)
    assert problem.value.startswith(value)
    assert problem.accepted.startswith(accepted)
    assert remedy in problem.remedy
    assert str(refused.value).startswith("my plan: 1 problem\nline ")


def test_everything_wrong_is_said_at_once() -> None:
    with pytest.raises(PlanError) as refused:
        read_plan(SOUND.replace("off_mm", "of_mm").replace("up_mm", "up_m").replace('"head"', '"roof"'))
    assert [problem.line for problem in refused.value.problems] == [6, 11, 18]


@pytest.mark.parametrize("text", ["steps = [", "a = 1\na = 2", "[" * 3000])
def test_no_toml_is_refused(text: str) -> None:
    with pytest.raises(PlanError, match="TOML: key = value"):
        read_plan(text)


def test_files_that_are_not_there(tmp_path: Path) -> None:
    for read in (read_plan_file, read_box_file):
        with pytest.raises(PlanError, match="check the name"):
            read(tmp_path / "none.toml")


def test_steps_must_be_tables() -> None:
    with pytest.raises(PlanError, match="begin each with"):
        read_plan("scribeline_plan = 1\nsteps = 3")


def test_a_limit_stands_once() -> None:
    with pytest.raises(PlanError, match="squish_gap_mm once"):
        read_limits('set = [{ name = "squish_gap_mm", high = 1 }, { name = "squish_gap_mm", high = 2 }]')


def test_a_box_out_of_range_is_refused() -> None:
    with pytest.raises(PlanError, match="accepted: 2 to 80 mm"):
        read_box('[[carburettors]]\nname = "x"\nbore_mm = 100\nlength_mm = 80\nmouth_mm = 30')
