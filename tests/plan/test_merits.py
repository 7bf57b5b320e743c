"""What a curve is worth: against integration by scipy, a straight road by hand, and the definition of a band."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from scribeline.cycle.simulate import Settings
from scribeline.errors import SearchError
from scribeline.geometry.work_out import work_out
from scribeline.plan.merits import (
    MERITS,
    Road,
    Speeds,
    Swept,
    band_above,
    mean_over,
    merits_of,
    road_of,
    sweep,
    sweep_many,
    top_speed_km_h,
)
from tests.examples import KART, edited

COARSE = Settings(cell_m=0.040, tolerance=0.05, patient=False)
CURVES = st.lists(st.floats(0.5, 20.0), min_size=4, max_size=9)
N = np.array([6000.0, 7000.0, 8000.0, 9000.0, 10000.0, 11000.0])
POWER = np.array([5.0, 7.0, 9.0, 11.0, 10.5, 6.0])


def swept(power: np.ndarray, trapped: float = 80.0) -> Swept:
    rest = np.where(np.isfinite(power), trapped, np.nan)
    return Swept(N, power, rest, rest - 75.0, rest)


@given(CURVES, st.floats(0.05, 0.45), st.floats(0.55, 0.95))
@settings(max_examples=40, deadline=None)
def test_a_mean_is_the_integral_over_the_width(values: list[float], a: float, b: float) -> None:
    x = np.arange(len(values), dtype=float)
    first, last = a * x[-1], b * x[-1]
    whole, _ = quad(lambda at: np.interp(at, x, values), first, last, points=x[1:-1].tolist(), limit=200)
    assert mean_over(x, np.array(values), first, last) == pytest.approx(whole / (last - first), rel=1e-6)


@given(CURVES)
@settings(max_examples=60, deadline=None)
def test_a_band_holds_the_highest_point_and_ends_where_the_curve_crosses(values: list[float]) -> None:
    x, y = np.arange(len(values), dtype=float), np.array(values)
    first, last = band_above(x, y, 0.9)
    assert first <= x[y.argmax()] <= last
    inside = np.linspace(first, last, 400)
    assert np.interp(inside, x, y).min() >= 0.9 * y.max() - 1e-9
    for end, way in ((first, -1.0), (last, 1.0)):
        if 0.0 < end < x[-1]:
            beyond = np.interp(end + way * 1e-6, x, y)
            assert beyond == pytest.approx(0.9 * y.max(), abs=1e-3)
            assert beyond < 0.9 * y.max() + 1e-12


def test_the_numbers_of_a_curve_by_hand() -> None:
    """Most 11 at 9000; 9.9 is reached at 8450 and left at 10000 + 0.6/4.5 · 1000 = 10133.3: its middle 9291.7."""
    got = merits_of(swept(POWER), Speeds(tuple(N), (8000.0, 10000.0), (6000.0, 7000.0)))
    assert got["peak_kw"] == 11.0
    assert got["peak_rpm"] == 9000.0
    assert got["middle_rpm"] == pytest.approx(0.5 * (8450.0 + 10000.0 + 0.6 / 4.5 * 1000.0))
    assert got["band_kw"] == pytest.approx((10.0 + 10.75) / 2)
    assert got["low_nm"] == pytest.approx(np.mean([5e3 / (6000 * np.pi / 30), 7e3 / (7000 * np.pi / 30)]))
    assert got["trapped_mg"] == pytest.approx(80.0)
    assert got["octane_margin"] == pytest.approx(5.0)
    assert np.isnan(got["top_km_h"])
    assert set(got) == {merit.key for merit in MERITS}


def test_a_speed_without_result_is_bridged_and_too_many_are_not() -> None:
    over = Speeds(tuple(N), (8000.0, 10000.0), (6000.0, 7000.0))
    one = POWER.copy()
    one[3] = np.nan
    assert merits_of(swept(one), over)["band_kw"] == pytest.approx(0.5 * (9.0 + 10.5))
    many = np.full(6, np.nan)
    many[:3] = POWER[:3]
    assert all(np.isnan(value) for value in merits_of(swept(many), over).values())


def test_top_speed_is_where_power_and_resistance_meet() -> None:
    """150 kg, 2 % rolling, 0.6 m² at η = 0.9: written down again in newtons and metres per second."""
    road = Road(0.01, 150.0, 0.02, 0.6, 0.9)

    def spare(speed_m_s: float) -> float:
        need = (150.0 * 9.80665 * 0.02 + 0.5 * 1.225 * 0.6 * speed_m_s**2) * speed_m_s / 0.9
        return float(1000.0 * np.interp(speed_m_s * 3.6 / 0.01, N, POWER)) - need

    exact = brentq(spare, 25.0, 30.5) * 3.6
    assert top_speed_km_h(N, POWER, road) == pytest.approx(exact, rel=2e-3)  # straight between speeds
    assert top_speed_km_h(N, POWER + 20.0, road) == pytest.approx(110.0)
    assert np.isnan(top_speed_km_h(N, POWER * 0.01, road))


def test_the_road_is_the_cards() -> None:
    out = work_out(edited(name=KART), draws=0)
    road = road_of(out)
    assert road is not None
    speed = out.value("road_speed_km_h")
    assert speed == pytest.approx(road.km_h_per_rpm * 9500.0)
    assert float(road.power_to_hold_kw(np.array(speed))) == pytest.approx(out.value("power_to_hold_kw"))
    assert road_of(work_out(edited(("mass_with_rider_kg = 152", ""), name=KART), draws=0)) is None


def test_many_engines_are_each_what_one_is_whatever_the_threads() -> None:
    record = edited(name=KART)
    other = edited(("advance_deg = 18.0", "advance_deg = 14.0"), name=KART)
    alone = [sweep(one, (8000.0, 9000.0), COARSE) for one in (record, other)]
    for threads in (1, 3):
        for got, expected in zip(
            sweep_many([record, other], (8000.0, 9000.0), COARSE, threads=threads), alone, strict=True
        ):
            assert got.power_kw.tolist() == expected.power_kw.tolist()
    assert alone[0].power_kw.tolist() != alone[1].power_kw.tolist()
    assert alone[0].why_not == ()


def test_speeds_that_are_known_are_left_out_and_the_others_end_as_they_would_have() -> None:
    """Only longer cells pass their gas on, so that nothing is lost by it; each speed is told when it has ended."""
    record, speeds = edited(name=KART), (7500.0, 8000.0, 8500.0)
    settings = Settings(cell_m=0.020, tolerance=0.05, flush=2.0)
    told: list[tuple[int, float, float]] = []

    def reached(place: int, one: Swept) -> None:
        told.append((place, float(one.speeds_rpm[0]), float(one.power_kw[0])))

    (whole,) = sweep_many([record], speeds, settings, side_by_side=False, reached=reached)
    assert told == [(0, speed, power) for speed, power in zip(speeds, whole.power_kw.tolist(), strict=True)]
    told.clear()
    (rest,) = sweep_many([record], speeds, settings, side_by_side=False, reached=reached, leave_out={7500.0, 8000.0})
    assert np.isnan(rest.power_kw[:2]).all()
    assert told == [(0, 8500.0, whole.power_kw[2])]

    def enough(place: int, one: Swept) -> None:
        told.append((place, float(one.speeds_rpm[0]), float(one.power_kw[0])))
        raise KeyError("enough")

    told.clear()
    with pytest.raises(KeyError, match="enough"):
        list(sweep_many([record], speeds, settings, side_by_side=False, reached=enough))
    assert len(told) == 1


def test_an_engine_that_cannot_be_simulated_says_why() -> None:
    bare = edited(name=KART).model_copy(update={"exhaust": None})
    got = sweep(bare, (8000.0, 9000.0), COARSE)
    assert np.isnan(got.power_kw).all()
    assert not got.sound
    assert "exhaust pipe" in got.why_not[0]


def test_stopping_is_an_error_of_ours() -> None:
    with pytest.raises(SearchError, match="stopped after 1 of 2 engines"):
        list(
            sweep_many(
                [edited(name=KART).model_copy(update={"exhaust": None})] * 2,
                (8000.0,),
                COARSE,
                progress=lambda d, n: True,
            )
        )
