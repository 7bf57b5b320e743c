"""Tuned length against the round trip it stands for; bmep against pressure times area times stroke."""

import doctest
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.geometry import tuned_length as tuned

durations = st.floats(120.0, 210.0)
speeds = st.floats(2000.0, 20000.0)
waves = st.floats(350.0, 700.0)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(tuned).failed == 0


@settings(deadline=None)
@given(durations, speeds, waves)
def test_the_wave_is_back_when_the_exhaust_closes(duration: float, rpm: float, wave: float) -> None:
    seconds_open = duration / 360.0 * 60.0 / rpm
    assert tuned.open_time_ms(duration, rpm) == pytest.approx(1000.0 * seconds_open, rel=1e-12)
    length = tuned.tuned_length_mm(duration, rpm, wave)
    assert 2.0 * length / 1000.0 / wave == pytest.approx(seconds_open, rel=1e-12)
    assert tuned.tuned_speed_rpm(length, duration, wave) == pytest.approx(rpm, rel=1e-12)
    assert 25.4 * tuned.published_tuned_length_in(duration, rpm, wave / 0.3048) == pytest.approx(
        float(length), rel=1e-12
    )


def test_published_wave_speed_is_used_unless_another_is_stated() -> None:
    assert tuned.published_tuned_length_in(180.0, 6300.0) == pytest.approx(180.0 * 1700.0 / 6300.0, rel=1e-14)


@settings(deadline=None)
@given(st.floats(1.0, 15.0), st.floats(30.0, 100.0), st.floats(30.0, 100.0), speeds)
def test_power_is_force_times_way_in_every_turn(bmep: float, bore: float, stroke: float, rpm: float) -> None:
    displacement = math.pi / 4.0 * bore**2 * stroke / 1000.0
    newton = bmep * 1e5 * math.pi / 4.0 * (bore / 1000.0) ** 2
    power = tuned.power_kw(bmep, displacement, rpm)
    assert power == pytest.approx(newton * stroke / 1000.0 * rpm / 60.0 / 1000.0, rel=1e-12)
    assert tuned.bmep_bar(power, displacement, rpm) == pytest.approx(bmep, rel=1e-12)


def test_diffuser_outlet_has_the_handbooks_area() -> None:
    inlet = np.array([30.0, 38.0])
    np.testing.assert_allclose(tuned.diffuser_outlet_mm(inlet) ** 2 / inlet**2, 6.25, rtol=1e-14)


def test_stinger_guide_brings_its_caution() -> None:
    guide = tuned.stinger_guide(np.array([28.0, 40.0]))
    assert "overheats the piston" in guide.caution
    np.testing.assert_allclose(guide.smallest_mm, [16.24, 23.2], rtol=1e-12)
    np.testing.assert_allclose(guide.largest_mm, [17.36, 24.8], rtol=1e-12)
    np.testing.assert_allclose(guide.length_of_smallest_mm, [194.88, 278.4], rtol=1e-12)
    np.testing.assert_allclose(guide.length_of_largest_mm, [208.32, 297.6], rtol=1e-12)


@pytest.mark.parametrize("impossible", [0.0, -1.0, math.nan])
def test_speeds_and_lengths_that_cannot_be_give_nan(impossible: float) -> None:
    assert np.isnan(tuned.open_time_ms(180.0, impossible))
    assert np.isnan(tuned.tuned_length_mm(180.0, impossible, 520.0))
    assert np.isnan(tuned.tuned_speed_rpm(impossible, 180.0, 520.0))
    assert np.isnan(tuned.published_tuned_length_in(180.0, impossible))
    assert np.isnan(tuned.bmep_bar(15.0, 125.0, impossible))
    assert np.isnan(tuned.bmep_bar(15.0, impossible, 9000.0))


def test_arrays_broadcast() -> None:
    assert tuned.tuned_length_mm(np.array([[170.0], [180.0]]), [8000.0, 9000.0, 10000.0], 520.0).shape == (2, 3)
