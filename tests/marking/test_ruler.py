"""Where the ticks of a rule go: each mm, or each 0.05 in of 25.4 mm (yard-and-pound-1959)."""

import doctest

import pytest

from scribeline.marking import ruler as module
from scribeline.marking.ruler import ruler


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module) == doctest.TestResults(failed=0, attempted=1)


def test_a_rule_in_mm_has_a_number_every_ten() -> None:
    ticks = list(ruler(30.9))
    assert [one.at_mm for one in ticks] == list(range(31))
    assert [one.words for one in ticks if one.kind == "number"] == ["0", "10", "20", "30"]
    assert [one.at_mm for one in ticks if one.kind == "half"] == [5, 15, 25]


def test_a_rule_in_inches_is_divided_into_twentieths() -> None:
    ticks = list(ruler(50.8, "inch"))
    assert [one.at_mm for one in ticks] == pytest.approx([0.05 * 25.4 * i for i in range(41)])
    assert {one.words: one.at_mm for one in ticks if one.words} == pytest.approx(
        {"0": 0.0, "0.5": 12.7, "1": 25.4, "1.5": 38.1, "2": 50.8}
    )
    assert [one.kind for one in ticks[:6]] == ["number", "small", "half", "small", "half", "small"]
