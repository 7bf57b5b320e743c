"""Every number stands under one question, and its change is told in words."""

import doctest
from collections import Counter

import pytest

from scribeline.geometry.work_out import work_out
from scribeline.geometry.working import Worked
from scribeline.tasks import questions
from scribeline.tasks.questions import CHIEF, answers, change_in_words, question_of
from tests.examples import SOUND, edited


def number(name: str, value: float | None, unit: str = "deg", plus_minus: float | None = None) -> Worked:
    return Worked(name, name, unit, value, plus_minus, "", "geometry", {}, "Timing")


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(questions).failed == 0


@pytest.mark.parametrize("name", SOUND)
def test_every_number_of_the_card_answers_one_question(name: str) -> None:
    out = work_out(edited(name=name), draws=0)
    found = Counter(number for one in answers(out, out) for number in one.names)
    assert found == Counter(list(out.values))
    assert all(not number.change for one in answers(out, out) for _, some in one.numbers for number in some)
    assert {key for key, _ in CHIEF} <= set(out.values) | {"intake_duration_deg"}


@pytest.mark.parametrize(("name", "question"), [
    ("blowdown_time_area_s_mm2", "flow"), ("blowdown_deg", "timing"), ("squish_gap_mm", "squeeze"),
    ("ports.exhaust.opens_deg_atdc", "ports"), ("road_speed_gear_3_km_h", "road"), ("least_land_mm", "strength"),
])  # fmt: skip
def test_a_number_stands_where_a_builder_looks_for_it(name: str, question: str) -> None:
    assert question_of(name) == question


@pytest.mark.parametrize(("before", "after", "words"), [
    (number("exhaust_opens_deg_atdc", 90.0), number("exhaust_opens_deg_atdc", 88.66), "1.3° earlier"),
    (number("exhaust_closes_deg_atdc", 359.0), number("exhaust_closes_deg_atdc", 1.0), "2° later"),
    (number("exhaust_duration_deg", 180.0), number("exhaust_duration_deg", 182.5), "2.5° longer"),
    (number("a.roof_depth_mm", 28.0, "mm"), number("a.roof_depth_mm", 27.0, "mm"), "1 mm higher"),
    (number("a_mm2", 600.0, "mm2"), number("a_mm2", 572.0, "mm2"), "28 mm² less"),
    (number("a_mm2", 600.0, "mm2"), number("a_mm2", 600.05, "mm2"), ""),
    (number("a_mm2", None, "mm2"), number("a_mm2", 3.0, "mm2"), "as measured: none"),
    (number("a_mm2", 3.0, "mm2"), number("a_mm2", None, "mm2"), "gone"),
    (number("a_mm2", None, "mm2"), number("a_mm2", None, "mm2"), ""),
])  # fmt: skip
def test_a_change_in_words(before: Worked, after: Worked, words: str) -> None:
    assert change_in_words(after, before) == words
