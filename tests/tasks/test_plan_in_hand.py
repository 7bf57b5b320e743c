"""The plan in hand: a step that cannot be done keeps its place and its reason, and the rest goes on without it."""

import copy
import tomllib

import pytest

from scribeline.engine import EngineRecord
from scribeline.errors import PlanError
from scribeline.plan.not_held import not_held_words
from scribeline.plan.plan_file import read_plan
from scribeline.plan.what_if import what_if
from scribeline.tasks.plan_in_hand import document_of, plan_file_text, plan_in_hand, plan_of_document, record_in_hand
from tests.examples import FOLDER, KART, edited, text_of

PLAN = read_plan((FOLDER / "club-kart-98-plan.toml").read_text(encoding="utf-8"))
DOCUMENT = document_of(PLAN)


@pytest.fixture(scope="module")
def record() -> EngineRecord:
    return edited()


def test_a_plan_and_its_document_are_the_same() -> None:
    assert plan_of_document(DOCUMENT) == PLAN
    assert read_plan(plan_file_text(DOCUMENT)) == PLAN


def test_it_says_what_the_planner_says(record: EngineRecord) -> None:
    hand, done = plan_in_hand(record, DOCUMENT), what_if(record, PLAN)
    assert hand.plan.steps == done.steps
    assert {one.name: (one.before, one.after) for one in (*hand.headlines(), *hand.others())}.items() >= {
        one.name: (one.before, one.after) for one in done.moved if not one.inner
    }.items()
    assert hand.warnings == done.warnings_after
    assert hand.statements == done.statements
    assert hand.not_held == not_held_words(done.after)
    assert hand.lowered_mm == 0.35
    assert [step.why_here != "" for step in hand.steps] == [True, True, False, False, False, False]
    assert all(step.number == number for number, step in enumerate(hand.steps, start=1))
    assert [step.place for step in hand.steps] == [2, 3, 0, 1, 4, 5]


def test_each_step_tells_what_it_alone_moves(record: EngineRecord) -> None:
    """0.8 mm up in the plan's third step: the roof from 28.48 to 27.68 below the crown, whatever comes before or after.

    29.1 - 0.62 = 28.48.
    """
    step = plan_in_hand(record, DOCUMENT).steps[2]
    roof = next(one for one in step.moved() if one.name == "ports.exhaust.roof_depth_mm")
    assert (roof.before, roof.after) == (pytest.approx(28.48), pytest.approx(27.68))
    assert not any(one.name == "squish_gap_mm" for one in step.moved())


def test_the_step_that_passes_a_limit_says_so(record: EngineRecord) -> None:
    """1.2 mm off the deck leaves 0.18 mm of 1.38 at the tightest place; a roof raised afterwards passes nothing."""
    hand = plan_in_hand(record, {"steps": [{"do": "deck barrel top", "off_mm": 1.2},
                                           {"do": "raise exhaust roof", "at": "exhaust", "up_mm": 0.5}]})  # fmt: skip
    assert "squish_gap_min_mm" in {one.about for one in hand.steps[0].new_limits()}
    assert hand.steps[1].new_limits() == ()


def test_a_step_that_adds_metal_is_refused_at_its_place_and_the_rest_goes_on(record: EngineRecord) -> None:
    document = copy.deepcopy(DOCUMENT)
    document["steps"][3]["off_mm"] = -0.3
    hand = plan_in_hand(record, document)
    bad = hand.steps[1]
    assert bad.step is not None
    assert not bad.done
    assert "metal does not grow back" in bad.problems[0].remedy
    assert bad.alternatives == ("swap head gasket",)
    assert len(hand.plan.steps) == 5
    squish = next(one for one in hand.headlines() if one.name == "squish_gap_mm")
    assert squish.after == pytest.approx(1.4275 - 0.70 + 0.45)  # the thin gasket alone


def test_an_alternative_that_is_not_at_hand_is_none(record: EngineRecord) -> None:
    hand = plan_in_hand(record, {"steps": [{"do": "raise exhaust roof", "at": "exhaust", "up_mm": -1.0}]})
    # no base gasket in the box, so that none can be swapped for
    assert hand.steps[0].alternatives == ("remove base gasket", "deck barrel base")


@pytest.mark.parametrize(
    ("table", "value"),
    [
        ({"do": "polish the badge"}, '"polish the badge"'),
        ({"do": "raise exhaust roof", "at": "exhaust", "up_mm": "much"}, '"much"'),
        ({"do": "raise exhaust roof", "at": "chimney", "up_mm": 1.0}, 'at = "chimney"'),
        ({"do": "raise exhaust roof", "at": "exhaust", "up_mm": 1.0, "spin": 2}, "2"),
    ],
)
def test_whatever_a_document_holds_it_is_never_refused_as_a_whole(
    record: EngineRecord, table: dict[str, object], value: str
) -> None:
    good = {"do": "raise transfer roof", "at": "all transfers", "up_mm": 0.3}
    hand = plan_in_hand(record, {"steps": [table, good, None, "text"]})
    by_place = {step.place: step for step in hand.steps}
    assert by_place[0].problems[0].value == value
    assert by_place[1].done
    assert len(hand.plan.steps) == 1


@pytest.mark.parametrize(
    ("part", "value", "where"),
    [
        ("box", {"gaskets": [{"name": "x"}]}, "box"),
        ("limits", {"set": [{"name": "moon"}]}, "limits"),
        ("note", 3, "note"),
    ],
)
def test_a_part_that_is_refused_is_told_and_the_others_count(
    record: EngineRecord, part: str, value: object, where: str
) -> None:
    hand = plan_in_hand(record, {**DOCUMENT, part: value})
    assert hand.problems[0].where.startswith(where)
    assert any(step.done for step in hand.steps)


def test_nothing_yet_is_a_plan_too(record: EngineRecord) -> None:
    hand = plan_in_hand(record, None)
    assert hand.steps == ()
    assert hand.after is hand.before
    assert all(one.before == one.after for one in hand.headlines())


def test_what_was_taken_out_again_does_not_count(record: EngineRecord) -> None:
    document = {"steps": [{"do": "raise transfer roof", "at": "all transfers", "up_mm": 0.3, "roof_angle_deg": None}],
                "box": None}  # fmt: skip
    assert plan_in_hand(record, document).steps[0].done


def test_a_plan_file_like_the_document_refuses_what_it_would() -> None:
    with pytest.raises(PlanError, match="up_mm"):
        plan_file_text({"steps": [{"do": "raise exhaust roof", "at": "exhaust", "up_mm": "much"}]})


def test_the_record_in_hand_is_the_record() -> None:
    assert record_in_hand({**tomllib.loads(text_of(KART)), "cylinder_note": None}, "kart") == edited()
