"""One prediction beside one measurement."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.errors import LedgerError
from scribeline.learning import Measurement, Prediction, beside


def promise(value: float, low: float, high: float) -> Prediction:
    return Prediction("gate time", "25 to 50 km/h", "s", value, low, high, "simulation", "kart, revision 1")


@pytest.mark.parametrize(
    ("prediction", "measurement", "e_n", "verdict"),
    [
        # E_n = (x - X) / sqrt(U_x^2 + U_X^2), iso-13528, worked by hand with Pythagorean triples.
        (promise(10.0, 7.0, 13.0), Measurement(12.5, 4.0), 0.5, "inside"),
        (promise(10.0, 7.0, 13.0), Measurement(14.0, 4.0), 0.8, "at the edge"),
        (promise(10.0, 7.0, 13.0), Measurement(5.0, 4.0), -1.0, "at the edge"),
        (promise(10.0, 7.0, 13.0), Measurement(20.0, 4.0), 2.0, "outside"),
        # Of a lopsided band the side counts on which the measurement lies.
        (promise(10.0, 9.0, 15.0), Measurement(13.0, 0.0), 0.6, "inside"),
        (promise(10.0, 9.0, 15.0), Measurement(8.5, 0.0), -1.5, "outside"),
    ],
)
def test_the_difference_in_units_of_both_plus_minus(
    prediction: Prediction, measurement: Measurement, e_n: float, verdict: str
) -> None:
    found = beside(prediction, measurement)
    assert found.in_plus_minus == pytest.approx(e_n, rel=1e-12)
    assert found.verdict == verdict
    assert found.held == (verdict != "outside")
    assert found.difference == pytest.approx(measurement.value - prediction.value)
    assert found.ratio == pytest.approx(measurement.value / prediction.value)


def test_what_is_exact_on_both_sides_agrees_or_does_not() -> None:
    exact = promise(2.0, 2.0, 2.0)
    assert beside(exact, Measurement(2.0, 0.0)).in_plus_minus == 0.0
    assert beside(exact, Measurement(1.9, 0.0)).in_plus_minus == -math.inf
    assert beside(exact, Measurement(1.9, 0.0)).verdict == "outside"


@pytest.mark.parametrize("value", [0.0, -1.0])
def test_a_ratio_means_nothing_across_zero(value: float) -> None:
    assert math.isnan(beside(promise(value, -2.0, 2.0), Measurement(1.0, 0.1)).ratio)


@pytest.mark.parametrize(
    "band", [(8.0, 8.5, 9.0), (8.0, 7.0, 7.5), (8.0, 7.0, math.inf), (math.nan, 7.0, 9.0), (8.0, math.nan, 9.0)]
)
def test_a_prediction_without_a_band_round_it_is_none(band: tuple[float, float, float]) -> None:
    with pytest.raises(LedgerError, match=r"(?s)accepted: .*what to do: predict again"):
        promise(*band)


@pytest.mark.parametrize("values", [(8.0, -0.1), (math.nan, 0.1), (8.0, math.inf)])
def test_a_measurement_needs_its_plus_minus(values: tuple[float, float]) -> None:
    with pytest.raises(LedgerError, match=r"(?s)accepted: .*what to do: measure again"):
        Measurement(*values)


SIZES = st.floats(-1e3, 1e3)
WIDTHS = st.floats(0.0, 1e3)


@given(SIZES, WIDTHS, WIDTHS, SIZES, WIDTHS)
def test_inside_the_band_is_never_a_contradiction(a: float, down: float, up: float, x: float, half: float) -> None:
    found = beside(promise(a, a - down, a + up), Measurement(x, half))
    if found.verdict == "inside":
        assert abs(found.in_plus_minus) <= 1.0 + 1e-9
    assert found.held == (found.verdict == "inside" or abs(found.in_plus_minus) <= 1.0)
