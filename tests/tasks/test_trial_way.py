"""Wind and slope of one way, typed and laid over the runs."""

import doctest

import pytest

from scribeline.errors import TrialError
from scribeline.models.road_load import road_load
from scribeline.tasks import trial_way
from scribeline.tasks.trial_way import Way, way_of


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(trial_way)
    assert results.attempted >= 2
    assert results.failed == 0


@pytest.mark.parametrize(
    ("text", "wind_m_s", "grade"),
    [
        ("out: head wind 3.6 km/h", 1.0, 0.0),
        ("out: tail wind 2 m/s, down 1,5 %", -2.0, -0.015),
        ("uphill way : up 3%", 0.0, 0.03),
    ],
)
def test_what_may_be_typed(text: str, wind_m_s: float, grade: float) -> None:
    kept = way_of(text)
    assert (kept["head_wind_m_s"], kept["grade"]) == (wind_m_s, grade)


@pytest.mark.parametrize(
    "text", ["head wind 3 km/h", "out: 3 km/h", "out:", "out: head wind 90 km/h", "out: up 30 %", "out: up 1 % or 2 %"]
)
def test_what_is_not_clear_is_refused(text: str) -> None:
    with pytest.raises(TrialError, match="wind and slope typed as"):
        way_of(text)


def test_a_third_way_gets_neither() -> None:
    """Of a triangle nobody knows how the wind lay on the other two legs."""
    way = Way("N", 2.0, 0.01)
    assert way.for_direction("SE", {"N", "SE", "W"}) == (0.0, 0.0)
    assert way.for_direction("", {"N", ""}) == (0.0, 0.0)
    assert way.for_direction("S", {"N", "S", ""}) == (-2.0, -0.01)


def test_held_back_as_the_force_balance_says() -> None:
    """150 kg at 20 m/s against 3 m/s up 1 %: 0.02 m g + rho/2 A (v + w)² + m g sin(atan 0.01), worked by hand."""
    load = road_load(150.0, 0.02, 0.6, 1.225).driven(0.01, 3.0)
    assert load.force_n(20.0) == pytest.approx(29.42 + 194.41 + 14.71, abs=0.02)
