"""Volumes against quadrature and closed forms, and what a gasket moves, by the exact amounts."""

import doctest
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from scribeline.geometry import volumes

bores = st.floats(20.0, 120.0)
strokes = st.floats(20.0, 120.0)
gaskets = st.floats(0.01, 3.0)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(volumes).failed == 0


@pytest.mark.parametrize(("base", "height"), [(47.0, 4.0), (47.0, 23.5), (54.0, -3.0), (40.0, 0.0)])
def test_dome_is_the_sum_of_its_slices(base: float, height: float) -> None:
    """Slices of the sphere through rim and top; a whole half ball at 23.5 mm, a dish with minus."""
    deep = abs(height)
    sphere = (base**2 / 4.0 + deep**2) / (2.0 * deep) if deep else math.inf
    slices, _ = quad(lambda z: math.pi * (sphere**2 - (sphere - deep + z) ** 2), 0.0, deep) if deep else (0.0, 0.0)
    assert volumes.dome_volume_cc(base, height) == pytest.approx(math.copysign(slices, height) / 1000.0, rel=1e-10)


def test_flat_volumes_are_half_the_circumference_times_the_radius_times_the_height() -> None:
    expected = 0.5 * math.tau * 23.5 * 23.5 * 42.0 / 1000.0
    for volume in (
        volumes.swept_volume_cc,
        volumes.volume_above_depth_cc,
        volumes.gasket_volume_cc,
        volumes.deck_volume_cc,
    ):
        assert volume(47.0, 42.0) == pytest.approx(expected, rel=1e-14)


def test_clearance_parts_each_count_once_with_their_sign() -> None:
    parts = np.array([8.0, 0.3, 0.9, -0.5, 2.2])
    whole = volumes.clearance_volume_cc(*parts)
    for i, sign in enumerate((1, -1, 1, 1, -1)):
        more = parts.copy()
        more[i] += 0.25
        assert volumes.clearance_volume_cc(*more) - whole == pytest.approx(sign * 0.25, rel=1e-12)
    assert whole == pytest.approx(5.9, rel=1e-14)


@settings(deadline=None)
@given(st.floats(1.0, 500.0), st.floats(1.01, 25.0))
def test_ratio_and_clearance_undo_each_other(swept: float, ratio: float) -> None:
    assert volumes.compression_ratio(swept, volumes.clearance_for_ratio_cc(swept, ratio)) == pytest.approx(
        ratio, rel=1e-12
    )


@settings(deadline=None)
@given(bores, strokes, gaskets, st.floats(6.0, 15.0))
def test_more_gasket_moves_volume_and_compression_by_exact_amounts(
    bore: float, stroke: float, thicker: float, ratio: float
) -> None:
    """pi/4 B^2 t more volume; 1/(CR - 1) grows by the gasket's share of the stroke, whatever the engine."""
    swept = volumes.swept_volume_cc(bore, stroke)
    before = volumes.clearance_for_ratio_cc(swept, ratio)
    deck = volumes.deck_volume_cc(bore, 0.3), volumes.deck_volume_cc(bore, 0.3 + thicker)
    after = before + deck[1] - deck[0]
    assert after - before == pytest.approx(0.25e-3 * math.pi * bore**2 * thicker, rel=1e-9)
    lowered = volumes.compression_ratio(swept, after)
    assert lowered < ratio
    assert 1.0 / (lowered - 1.0) - 1.0 / (ratio - 1.0) == pytest.approx(thicker / stroke, rel=1e-8)


@settings(deadline=None)
@given(st.floats(10.0, 300.0), st.floats(1.1, 2.0))
def test_crankcase_ratio_is_the_same_from_either_dead_centre(swept: float, ratio: float) -> None:
    at_bdc = swept / (ratio - 1.0)
    assert volumes.crankcase_compression_ratio(swept, at_bdc) == pytest.approx(ratio, rel=1e-12)
    assert volumes.crankcase_compression_ratio_from_tdc(swept, at_bdc + swept) == pytest.approx(ratio, rel=1e-11)


def test_crankcase_estimate_by_hand() -> None:
    """A case of 100 mm by 40 mm holds 100 pi cc; stuffing takes away, passages and the piston's inside add."""
    assert volumes.crankcase_estimate_cc(100.0, 40.0, 200.0, 30.0, 20.0) == pytest.approx(
        100.0 * math.pi - 150.0, rel=1e-14
    )


@pytest.mark.parametrize("impossible", [0.0, -1.0, math.nan])
def test_a_volume_that_cannot_be_gives_nan_in_its_own_place(impossible: float) -> None:
    got = volumes.compression_ratio(70.0, [7.0, impossible])
    assert got[0] == 11.0
    assert np.isnan(got[1])
    assert np.isnan(volumes.clearance_for_ratio_cc(70.0, 1.0 + impossible))
    assert np.isnan(volumes.crankcase_compression_ratio_from_tdc(70.0, 70.0 + impossible))


def test_arrays_broadcast_and_numbers_stay_numbers() -> None:
    swept = volumes.swept_volume_cc(np.array([40.0, 50.0])[:, None], np.array([40.0, 45.0, 50.0]))
    assert swept.shape == (2, 3)
    assert swept[1, 2] == volumes.swept_volume_cc(50.0, 50.0)
    assert isinstance(volumes.compression_ratio(70.0, 7.0), float)
