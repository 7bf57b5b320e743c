"""The squish card: solder at four places, ends at the wall, and the readings in their rows."""

import doctest
import math

import pytest

from scribeline.marking import squish_card as module
from scribeline.marking.shapes import Polyline, Text
from scribeline.marking.squish_card import SOLDER_LONG_MM, SquishCard, squish_card

CARD = SquishCard(50.0, 34.0, 2.0, 1.43, 0.95, 0.6, 1.0, "common practice", ((0.0, 1.47), (180.0, 1.38)))


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


def test_solder_lies_along_and_across_the_pin_with_its_end_at_the_wall() -> None:
    (solder,) = [one for one in squish_card(CARD).groups if one.about == "solder"]
    middles = []
    for piece in solder.shapes:
        assert isinstance(piece, Polyline)
        xs, ys = zip(*piece.points, strict=True)
        middles.append((sum(xs) / 4, sum(ys) / 4))
        reach = max(abs(value) for point in piece.points for value in point)
        assert reach == pytest.approx(25.0)
    assert [math.hypot(*middle) for middle in middles] == pytest.approx([25.0 - SOLDER_LONG_MM / 2] * 4)
    assert [round(math.degrees(math.atan2(x, y))) % 360 for x, y in middles] == [0, 90, 180, 270]


def test_it_says_what_was_measured_and_what_shall_be() -> None:
    words = [shape.words for one in squish_card(CARD).groups for shape in one.shapes if isinstance(shape, Text)]
    for said in ("1.47", "1.38", "1.43", "gap as it is 1.43 mm", "gap after the plan 0.95 mm", "practice: 0.6 to 1 mm"):
        assert any(said in one for one in words), said
    assert sum("secured" in one for one in words) == 1  # the plug lead


def test_an_engine_without_readings_gets_empty_boxes() -> None:
    made = squish_card(SquishCard(40.0, None, 1.5))
    words = [shape.words for one in made.groups for shape in one.shapes if isinstance(shape, Text)]
    assert not any("gap as it is" in one for one in words)
    assert sum("mean" in one for one in words) == 2
