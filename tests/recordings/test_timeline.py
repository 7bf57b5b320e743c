"""Every kind of damage that a clock can do, on rows whose true time is known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.recordings.timeline import UNKNOWN_S, mend


def said(stamps: list[float]) -> str:
    return "\n".join(map(str, mend(np.array(stamps)).notes))


def test_good_stamps_stay_as_they_are() -> None:
    mended = mend(np.array([100.0, 100.04, 100.09, 100.12]))
    assert mended.time_s == pytest.approx([0.0, 0.04, 0.09, 0.12])
    assert (mended.breaks_s, mended.notes) == ((), ())


def test_rows_without_a_time_are_counted() -> None:
    mended = mend(np.array([np.nan, 5.0, np.nan, 6.0, 7.0]))
    assert mended.kept.tolist() == [1, 3, 4]
    assert said([np.nan, 5.0, np.nan, 6.0, 7.0]) == "rows without a time were left out (2 times)"
    assert len(mend(np.array([np.nan])).kept) == 0


@pytest.mark.parametrize("stray", [9000.0, -9000.0, 2.4])
def test_a_single_stray_stamp_is_left_out(stray: float) -> None:
    stamps = np.arange(10.0)
    stamps[5] = stray
    mended = mend(stamps)
    assert mended.kept.tolist() == [0, 1, 2, 3, 4, 6, 7, 8, 9]
    assert mended.time_s.tolist() == [0, 1, 2, 3, 4, 6, 7, 8, 9]


def test_a_pause_is_a_break_and_keeps_its_length() -> None:
    mended = mend(np.array([0.0, 0.1, 0.2, 60.2, 60.3, 60.4]))
    assert mended.time_s.tolist() == [0.0, 0.1, 0.2, 60.2, 60.3, 60.4]
    assert mended.breaks_s == (0.2,)


@pytest.mark.parametrize("leap_s", [-7200.0, -3600.0, 3600.0, 5400.0, -37.0])
def test_a_clock_that_is_set_anew_does_not_tear_the_recording_apart(leap_s: float) -> None:
    """0.1 s steps; after 20 rows the clock is set. The true time over the leap is unknown, so it is a break."""
    stamps = 1.7e9 + np.arange(40) * 0.1
    stamps[20:] += leap_s
    mended = mend(stamps)
    assert len(mended.kept) == 40
    assert mended.breaks_s == pytest.approx((1.9,), abs=1e-6)
    assert np.diff(mended.time_s)[19] == pytest.approx(UNKNOWN_S, abs=1e-6)
    assert np.delete(np.diff(mended.time_s), 19) == pytest.approx(0.1, abs=1e-6)
    whole = "whole half hours" in said(stamps.tolist())
    assert whole is (leap_s % 1800 == 0)


def test_two_leaps_each_make_a_break() -> None:
    stamps = np.arange(30) * 1.0
    stamps[10:] -= 3600
    stamps[20:] += 7200
    assert len(mend(stamps).breaks_s) == 2


def test_a_row_out_of_order_is_left_out_and_not_taken_for_a_leap() -> None:
    mended = mend(np.array([0.0, 1.0, 2.0, 3.0, 2.5, 2.6, 4.0, 5.0]))
    assert np.all(np.diff(mended.time_s) > 0)
    assert mended.breaks_s == ()
    assert len(mended.kept) in (6, 7)
    assert "left out" in said([0.0, 1.0, 2.0, 3.0, 2.5, 2.6, 4.0, 5.0])


def test_now_and_then_a_repeated_stamp_is_left_out() -> None:
    mended = mend(np.array([0.0, 1.0, 1.0, 2.0, 3.0]))
    assert mended.kept.tolist() == [0, 1, 3, 4]


def test_whole_seconds_at_ten_rows_a_second_are_spread() -> None:
    """The recording begins 0.6 s into a second; true times are 0.1 s apart throughout."""
    true_s = 0.6 + np.arange(64) * 0.1 + 1e-9
    mended = mend(np.floor(true_s))
    assert len(mended.kept) == 64
    assert mended.time_s == pytest.approx(true_s - true_s[0], abs=0.021)
    assert "spread evenly" in said(np.floor(true_s).tolist())


def test_one_stamp_for_all_rows_is_no_time() -> None:
    assert len(mend(np.full(50, 7.0)).kept) == 1


@given(st.lists(st.floats(-1e10, 1e10) | st.just(float("nan")) | st.integers(0, 30).map(float), max_size=60))
def test_whatever_comes_the_time_increases(stamps: list[float]) -> None:
    mended = mend(np.array(stamps, dtype=np.float64))
    assert len(mended.kept) == len(mended.time_s)
    assert (np.diff(mended.time_s) > 0).all()
    assert (np.diff(mended.kept) > 0).all()
    assert np.isfinite(mended.time_s).all()
    if any(np.isfinite(stamps)):
        assert len(mended.kept) > 0
