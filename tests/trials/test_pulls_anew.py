"""Decisions about pulls, laid over the pulls of another reading of the same file."""

import doctest
from dataclasses import replace

from scribeline.trials import pulls_anew
from scribeline.trials.pulls import Pull
from scribeline.trials.pulls_anew import carried_over


def found(number: int, start_s: float, end_s: float) -> Pull:
    return Pull(number, start_s, end_s, start_s, end_s)


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(pulls_anew)
    assert (results.attempted >= 1, results.failed) == (True, 0)


def test_a_pull_that_is_there_still_keeps_its_number_and_what_was_decided() -> None:
    before = [
        replace(found(1, 10.0, 16.0), left_out="brakes dragged", reasons=("brakes dragged",)),
        replace(found(2, 40.0, 46.0), start_s=41.0, gear=2, direction="out", reasons=("by eye", "gear", "way")),
        found(3, 70.0, 76.0),
    ]
    new = [found(1, 9.7, 16.3), found(2, 25.0, 29.0), found(3, 40.4, 46.2), found(4, 70.1, 76.0)]
    carried = carried_over(before, new)
    assert carried.gone == ()
    by_number = {one.number: one for one in carried.pulls}
    assert sorted(by_number) == [1, 2, 3, 4]
    first, second, third, fourth = (by_number[number] for number in (1, 2, 3, 4))
    assert (first.start_s, first.end_s, first.left_out) == (9.7, 16.3, "brakes dragged")
    assert (second.start_s, second.end_s) == (41.0, 46.0)  # both ends as they were set, not where they are found now
    assert (second.found_start_s, second.found_end_s, second.gear, second.direction) == (40.4, 46.2, 2, "out")
    assert second.reasons == ("by eye", "gear", "way")
    assert (third.start_s, third.end_s, third.reasons) == (70.1, 76.0, ())
    assert (fourth.start_s, fourth.end_s) == (25.0, 29.0)  # new ones come after all that had a number


def test_one_that_is_not_there_any_more_is_told_and_one_added_by_hand_stays() -> None:
    gone = replace(found(1, 10.0, 16.0), left_out="brakes dragged", reasons=("brakes dragged",))
    by_hand = Pull(2, 50.0, 55.0, None, None, reasons=("the rule missed it",))
    carried = carried_over([gone, by_hand], [found(1, 80.0, 86.0)])
    assert carried.gone == (gone,)
    assert {one.number: one.start_s for one in carried.pulls} == {3: 80.0, 2: 50.0}
    seen = carried_over([by_hand], [found(1, 49.5, 55.5)])  # now the rule sees it: one pull, with the ends of the hand
    (one,) = seen.pulls
    assert (one.number, one.start_s, one.end_s, one.found_start_s) == (2, 50.0, 55.0, 49.5)


def test_two_that_became_one_are_not_both_kept() -> None:
    before = [found(1, 10.0, 14.0), replace(found(2, 15.0, 21.0), gear=1, reasons=("gear",))]
    carried = carried_over(before, [found(1, 10.0, 21.0)])
    assert len(carried.pulls) == 1
    assert len(carried.gone) == 1
