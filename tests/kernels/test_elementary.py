"""Logarithm, exponential and power against those of the standard library."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.kernels.elementary import exponential, logarithm, logarithm_below_one, power, power_below_one


@given(st.floats(1e-7, 1e7))
def test_logarithm(x: float) -> None:
    assert logarithm(x) == pytest.approx(math.log(x), rel=2e-15, abs=4e-16)


@given(st.floats(-40.0, 40.0))
def test_exponential(x: float) -> None:
    assert exponential(x) == pytest.approx(math.exp(x), rel=3e-14)


@given(st.floats(1e-3, 1e3), st.floats(-5.0, 5.0))
def test_power(base: float, exponent: float) -> None:
    assert power(base, exponent) == pytest.approx(base**exponent, rel=3e-14)


@given(st.floats(3e-5, 1.0))
def test_logarithm_below_one(x: float) -> None:
    assert logarithm_below_one(x) == pytest.approx(math.log(x), rel=2e-15, abs=4e-16)


@given(st.floats(3e-5, 1.0), st.floats(-3.8, 3.8))
def test_power_below_one(base: float, exponent: float) -> None:
    assert power_below_one(base, exponent) == pytest.approx(base**exponent, rel=3e-14)
