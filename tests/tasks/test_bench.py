"""The plan at the bench: stops, what to measure there, what was ticked and found, and the rest worked out from it.

Expected numbers are worked out here by hand from the demonstration record and plan: a face of 0.35 mm, stops as
printed in the cut list, heights that move with what came off.
"""

import doctest
import itertools
from datetime import UTC, datetime
from functools import cache
from types import ModuleType
from typing import Any

import pytest

from scribeline.engine import read_record
from scribeline.errors import PlanError, TypedValueError
from scribeline.notebook.places import at, put
from scribeline.plan.edges import edge_depths_mm
from scribeline.tasks import (
    bench_marks,
    bench_words,
    in_hand,
    printer_check,
    rubbing_accept,
    rubbing_review,
    rubbing_work,
    sheet_order,
)
from scribeline.tasks.bench import Ask, Bench, bench
from scribeline.tasks.bench_marks import (
    Found,
    Mark,
    found_path,
    judged,
    key_of,
    marks_of,
    may_tick,
    now_at,
    read_found,
    strays,
    tick_path,
    ticked_at,
)
from scribeline.tasks.bench_rest import TAKING, RestShown, half_taken, rest_shown, taken_over
from scribeline.tasks.in_hand import plan_toml, record_toml
from tests.tasks.at_hand import document

DECK = "cylinder/deck_clearance_at_tdc_mm"
ROOF = "ports/0/roof_from_deck_mm"
GAPS = tuple(f"squish/readings/{i}/gap_mm" for i in range(4))
PLANNED = (1.22, 1.17, 1.13, 1.19)  # the solder of the record, 0.25 mm less: a gasket of 0.70 mm becomes one of 0.45 mm
FACE, ROOF_STEP = 2, 3


@cache
def kart() -> Bench:
    return bench(record_toml(document()), plan_toml(document()))


def found(*numbers: tuple[str, float]) -> dict[str, Found]:
    return {place: Found(value, f"{value:g}") for place, value in numbers}


def solder(more: float, of: tuple[float, ...] = PLANNED) -> dict[str, Found]:
    return found(*((place, round(gap + more, 4)) for place, gap in zip(GAPS, of, strict=True)))


def rest(marks: dict[int, Mark]) -> RestShown:
    return rest_shown(record_toml(document()), plan_toml(document()), marks)


def done(**numbers: Any) -> Mark:
    return Mark(done_at="2026-11-26T10:00:00+00:00", **numbers)


# --- what is asked ----------------------------------------------------------------------------------------------------


def test_steps_are_in_the_order_that_they_are_done() -> None:
    assert [step.title for step in kart().steps][:3] == [
        'swap head gasket: "thin copper"', "deck barrel top: 0.35 mm", "raise exhaust roof at exhaust: 0.8 mm",
    ]  # fmt: skip
    assert len(kart().reordered) == 2


def asked(step: int, when: str) -> dict[str, Ask]:
    return {ask.place: ask for ask in getattr(kart().steps[step - 1], when) if ask.asked}


def test_a_new_gasket_is_measured_by_solder_and_has_no_stop_line() -> None:
    assert asked(1, "at_stop") == {}
    assert [round(ask.expected, 6) for ask in asked(1, "at_end").values()] == list(PLANNED)


def test_a_face_is_measured_at_its_stop_line_and_at_its_end() -> None:
    """The deck clearance of 0.62 mm less 0.25 mm at the stop, less 0.35 mm at the end."""
    assert asked(FACE, "at_stop")[DECK].expected == pytest.approx(0.37)
    assert asked(FACE, "at_end")[DECK].expected == pytest.approx(0.27)
    assert kart().steps[FACE - 1].stop_mm == pytest.approx(0.25)
    assert kart().steps[0].stop_mm is None


def test_before_a_line_is_scribed_the_edges_that_will_be_cut_are_measured_from_the_new_deck() -> None:
    heights = {place: ask.expected for place, ask in asked(FACE, "at_end").items() if place.startswith("ports/")}
    assert heights == pytest.approx(
        {ROOF: 28.75, "ports/1/roof_from_deck_mm": 37.25, "ports/2/roof_from_deck_mm": 37.65}
    )
    assert not any(place.startswith("ports/") for place in asked(FACE, "at_stop"))


def test_a_roof_is_expected_at_its_stop_and_at_its_target() -> None:
    """28.75 mm, 0.45 mm higher at the stop as 0.35 mm are left to the file, 0.8 mm higher at the end."""
    assert asked(ROOF_STEP, "at_stop")[ROOF].expected == pytest.approx(28.30)
    assert asked(ROOF_STEP, "at_end")[ROOF].expected == pytest.approx(27.95)
    line = kart().steps[ROOF_STEP - 1].lines[0]
    assert (line.stop_mm, line.target_mm) == pytest.approx((28.30, 27.95))


def test_no_number_is_asked_that_a_step_does_not_move() -> None:
    assert set(asked(4, "at_end")) == {"ports/0/floor_corner_radius_mm"}
    assert not any("mass" in ask.place for step in kart().steps for ask in step.at_end)


# --- what was found ---------------------------------------------------------------------------------------------------


def test_a_found_number_is_judged_in_words() -> None:
    roof = asked(ROOF_STEP, "at_end")[ROOF]
    assert judged(roof, Found(27.95 + 0.22, "28.17")).within
    assert not judged(roof, Found(27.95 - 0.23, "27.72")).within
    assert "0.23 mm less than 27.95 ± 0.22 mm" in judged(roof, Found(27.72, "27.72")).words


def test_what_is_typed_in_inches_is_kept_as_typed_and_worked_with_in_mm() -> None:
    roof = asked(ROOF_STEP, "at_end")[ROOF]
    assert read_found(roof, "1.1", "inch") == Found(27.94, "1.1 in")
    assert read_found(roof, "27.9 mm", "inch") == Found(27.9, "27.9 mm")
    assert read_found(roof, "  ") is None
    with pytest.raises(TypedValueError):
        read_found(roof, "about 28")


def test_marks_are_kept_and_found_again() -> None:
    step = kart().steps[FACE - 1]
    assert tick_path(step, "at_stop") == "marking.bench.steps.2-deck-barrel-top-0-35-mm.stopped_at"
    deck = asked(FACE, "at_stop")[DECK]
    assert found_path(step, "at_end", deck).endswith(f".at_end.{DECK}")
    at = ticked_at(datetime(2026, 11, 26, 10, tzinfo=UTC))
    kept = {"stopped_at": at, "at_stop": {DECK: {"value": 0.36, "typed": "0.36"}}}
    work = document(bench={"steps": {"2-deck-barrel-top-0-35-mm": kept}})
    assert marks_of(work, kart())[FACE] == Mark("2026-11-26T10:00:00+00:00", "", found((DECK, 0.36)), {})
    assert strays(work, kart()) == ()


def test_a_mark_on_a_step_that_is_no_longer_there_counts_for_nothing_and_is_told() -> None:
    work = document(bench={"steps": {"2-deck-barrel-top-0-3-mm": {"done_at": "x"}, "9-emptied": {"done_at": None}}})
    assert marks_of(work, kart())[FACE] == Mark()
    assert strays(work, kart()) == ("2 deck barrel top 0 3 mm",)


def test_no_two_steps_share_a_key() -> None:
    assert len({key_of(step) for step in kart().steps}) == 6


def test_steps_are_ticked_in_order_and_taken_back_from_the_last() -> None:
    marks = {number: done() if number < 3 else Mark() for number in range(1, 7)}
    assert now_at(kart(), marks) == 3
    assert may_tick(kart(), marks, 3) == may_tick(kart(), marks, 2) == ""
    assert "Step 3, raise exhaust roof at exhaust: 0.8 mm, comes first" in may_tick(kart(), marks, 4)
    assert "take that back first" in may_tick(kart(), marks, 1)
    assert now_at(kart(), {number: done() for number in range(1, 7)}) == 7


# --- the rest from here -----------------------------------------------------------------------------------------------


def amounts(shown: RestShown) -> dict[str, float]:
    keys = ("off_mm", "up_mm")
    return {
        f"{one['do']} {one.get('at', '')}".strip(): one[key] for one in shown.plan_steps for key in keys if key in one
    }


def test_where_everything_came_out_as_expected_the_rest_stays() -> None:
    shown = rest({1: done(at_end=solder(0.0))})
    assert shown.refusal == ""
    assert all(row.was == row.becomes for row in (*shown.steps, *shown.lines, *shown.ends))
    assert len(shown.steps) == 5


def test_squish_that_came_out_wider_is_taken_off_the_face() -> None:
    shown = rest({1: done(at_end=solder(0.05))})
    assert amounts(shown)["deck barrel top"] == pytest.approx(0.40)
    row = next(row for row in shown.lines if row.what.startswith("exhaust, roof"))
    assert row.becomes == "stop 28.25, target 27.90 mm"  # 0.05 mm more comes off above it
    ends = {row.what: row for row in shown.ends}
    assert ends["exhaust duration"].was == ends["exhaust duration"].becomes


def test_a_stop_line_passed_leaves_less_for_the_file() -> None:
    """At the stop 0.25 mm were to be off and 0.27 mm are: 0.08 mm are left of 0.35 mm."""
    at_stop = {**found((DECK, 0.35)), **solder(-0.27)}
    shown = rest({1: done(at_end=solder(0.0)), 2: Mark(stopped_at="x", at_stop=at_stop)})
    assert "0.27 mm came off, meant were 0.25 mm" in shown.notes[0]
    assert amounts(shown)["deck barrel top"] == pytest.approx(0.08)


def test_a_deck_cut_too_deep_takes_the_heights_along_and_the_timing_stays() -> None:
    """0.06 mm too much off the top: every height from the deck is 0.06 mm shorter, and so is the target."""
    shown = rest({1: done(at_end=solder(0.0)), 2: done(at_end=found((DECK, 0.21)))})
    row = next(row for row in shown.lines if row.what.startswith("exhaust, roof"))
    assert row.becomes == "stop 28.24, target 27.89 mm"
    assert amounts(shown)["raise exhaust roof exhaust"] == pytest.approx(0.8)
    now = read_record(record_toml({"record": shown.record}))
    assert now.cylinder.deck_clearance_at_tdc_mm is not None
    assert now.cylinder.deck_clearance_at_tdc_mm.value == 0.21
    assert edge_depths_mm(now)["exhaust", "roof"] == pytest.approx(29.1 - 0.62)  # below the crown, as it was
    assert "exhaust: roof, down from the deck" in shown.carried


def test_a_roof_cut_in_part_is_cut_the_rest_of_the_way_and_old_wheel_readings_go() -> None:
    marks = {1: done(at_end=solder(0.0)), 2: done(at_end=found((DECK, 0.27), (ROOF, 28.75)))}
    marks[3] = Mark(stopped_at="x", at_stop=found((ROOF, 28.1)))
    shown = rest(marks)
    assert amounts(shown)["raise exhaust roof exhaust"] == pytest.approx(0.15)  # 28.10 to 27.95
    exhaust = shown.record["ports"][0]
    assert exhaust["roof_from_deck_mm"]["value"] == 28.1
    assert exhaust["roof_from_deck_mm"]["typed"] == "28.1"
    assert "roof_opens_deg_atdc" not in exhaust


def test_a_roof_past_its_target_is_refused_with_what_else_there_is() -> None:
    marks = {1: done(at_end=solder(0.0)), 2: done(at_end=found((DECK, 0.27)))}
    marks[3] = Mark(stopped_at="x", at_stop=found((ROOF, 27.5)))
    shown = rest(marks)
    assert "the roof of exhaust is 0.45 mm past its target" in shown.refusal
    assert "metal does not grow back" in shown.refusal


def test_taking_the_rest_puts_the_marks_behind_then_the_steps_then_the_engine() -> None:
    work = document(paper="A3", bench={"steps": {key_of(kart().steps[0]): {"done_at": "x"}}})
    shown = rest({1: done(at_end=solder(0.05))})
    puts = taken_over(work, shown, [kart().steps[0].title], "2026-11-26T11:00:00+00:00")
    assert list(puts) == ["marking.bench", "plan.steps", "record"]
    for path, value in puts.items():
        work = put(work, path, at(work, path.split(".")), value)
    assert work["marking"]["paper"] == "A3"
    assert work["marking"]["bench"]["behind"][0]["steps"][key_of(kart().steps[0])]["done_at"] == "x"
    again = bench(record_toml(work), plan_toml(work))
    assert [step.title for step in again.steps][:2] == ["deck barrel top: 0.4 mm", kart().steps[2].title]
    assert not any(mark.done_at for mark in marks_of(work, again).values())


def test_a_taking_of_three_edits_that_is_half_undone_is_noticed() -> None:
    """Such as notebooks have that were kept before it was one step."""
    labels = [f"{TAKING}, {number} of 3: x" for number in (1, 2, 3)]
    assert [half_taken(first, second) for first, second in itertools.pairwise(labels)] == [True, True]
    assert not half_taken(labels[2], labels[0])
    assert not half_taken("bore 50.02 mm", labels[0])
    assert not half_taken(TAKING, TAKING)
    assert not half_taken(TAKING, labels[0])


def test_a_plan_that_is_none_for_this_engine_is_refused() -> None:
    work = document()
    work["plan"]["steps"] = [{"do": "raise exhaust roof", "at": "nowhere", "up_mm": 0.5}]
    with pytest.raises(PlanError):
        bench(record_toml(work), plan_toml(work))


@pytest.mark.parametrize("module", [bench_marks, bench_words, in_hand, printer_check, rubbing_accept, rubbing_review,
                                    rubbing_work, sheet_order])  # fmt: skip
def test_examples_in_the_docstrings(module: ModuleType) -> None:
    found = doctest.testmod(module)
    assert found.failed == 0
    assert found.attempted > 0
